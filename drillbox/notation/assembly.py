"""From measures in play order to a phrase: full bars of chords, and the line over them.

Choices, where a page leaves them open:

* A first measure that is short is a pickup; its notes lie before beat 0. A last measure that
  is short by exactly the pickup is filled up, so that every bar of the chart is full.
* A chord symbol holds until the next one, over bar lines and repeats as well.
* What comes before the first symbol is N.C.
* A grace note at the end of the last bar leads to no note, and is left out.
* A symbol in the pickup holds into bar 1 where no symbol stands at its beginning. Where the
  last measure was filled up, the symbol is placed there too, for that is when it sounds in a
  loop; otherwise the chart, which begins at bar 1, has no place for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from drillbox.music.charts import Bar, Chart, Meter, Span, turnaround_at_end
from drillbox.music.keys import Key
from drillbox.music.phrases import (
    HIGHEST_MIDI,
    HIGHEST_TEMPO,
    LONGEST_TITLE,
    LOWEST_TEMPO,
    LineNote,
)
from drillbox.music.symbols.printed import symbol_text
from drillbox.notation.repeats import Mark, lasting_brackets
from drillbox.notation.sheet import LOOSE_GRACE, Findings, Measure, Place, Sound, Symbol

ZERO = Fraction(0)
TAKE_BARS = "take a phrase out of it: drillbox add FILE --bars 5-8 (--list numbers the bars)"


@dataclass(frozen=True, slots=True)
class Page:
    """Full measures, and the pickup before them (None: there is none)."""

    pickup: Measure | None
    full: tuple[Measure, ...]


def amount_text(number: Fraction) -> str:
    """Return an exact number as players read it: ``3 1/2``."""
    whole, rest = divmod(number, 1)
    if not rest:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)


def long_brackets(
    marks: Sequence[Mark], places: Sequence[Place], findings: Findings
) -> tuple[Mark, ...]:
    """Return the marks with early first-ending brackets made to last, saying so of each."""
    lasted, early = lasting_brackets(marks)
    for index in early:
        findings.doubt(
            places[index],
            "the ending's bracket closes before its repeat sign; read as lasting to it",
        )
    return lasted


def lay_out(measures: Sequence[Measure], meter: Meter, findings: Findings) -> Page:
    """Join split bars, take the pickup off, fill the last bar; note each wrong bar sum."""
    joined = _join_split(measures, meter.bar)
    pickup = joined[0] if len(joined) > 1 and joined[0].length < meter.bar else None
    full = list(joined[1:] if pickup else joined)
    for number, measure in enumerate(full, start=1):
        last = pickup is not None and number == len(full)
        if measure.length == meter.bar or (
            last and pickup and measure.length + pickup.length == meter.bar
        ):
            continue
        which = "" if measure.end.where else f"bar {number} "
        beside = (
            f" ({amount_text(meter.bar - pickup.length)} beside the pickup)"
            if last and pickup
            else ""
        )
        findings.problem(
            measure.end,
            f"{which}adds up to {amount_text(measure.length)} quarter notes; "
            f"{meter.text()} takes {amount_text(meter.bar)}{beside}",
        )
    if pickup and pickup.length * 2 > meter.bar:
        _nearly_full(pickup, meter, findings)
    return Page(pickup, tuple(_fill_last(full, pickup, meter, findings)))


def _nearly_full(pickup: Measure, meter: Meter, findings: Findings) -> None:
    """Note a pickup of more than half a bar: one with a chord is a bar that lacks something."""
    has = (
        f"the first bar has {amount_text(pickup.length)} of {amount_text(meter.bar)} quarter notes"
    )
    if pickup.symbols:
        findings.problem(
            pickup.end,
            f"{has}: too many for a pickup with a chord; fill it up, with rests if need be",
        )
    else:
        findings.doubt(pickup.end, f"{has}: taken as a pickup")


def _join_split(measures: Sequence[Measure], bar: Fraction) -> list[Measure]:
    """Make one bar of parts with repeat, double or ending signs between them."""
    joined: list[Measure] = []
    for measure in measures:
        before = joined[-1] if joined else None
        if before and before.splittable and before.length + measure.length <= bar:
            at = before.length
            sounds = tuple(replace(each, onset=each.onset + at) for each in measure.sounds)
            symbols = tuple(replace(each, onset=each.onset + at) for each in measure.symbols)
            joined[-1] = Measure(
                at + measure.length,
                before.sounds + sounds,
                before.symbols + symbols,
                measure.end,
                measure.splittable,
                before.key,
            )
        else:
            joined.append(measure)
    return joined


def _fill_last(
    full: list[Measure], pickup: Measure | None, meter: Meter, findings: Findings
) -> list[Measure]:
    """Fill up the last measure, with the pickup's symbols where it has any."""
    if pickup is None:
        return full
    last = full[-1]
    filled = last.length < meter.bar
    symbols = last.symbols
    if filled:
        moved = (replace(each, onset=each.onset + last.length) for each in pickup.symbols)
        symbols = (*symbols, *moved)
    if pickup.symbols:
        where = "stands at the end of the last bar" if filled else "has no bar in the chart"
        findings.doubt(pickup.symbols[0].place, f"the chord over the pickup {where}")
    return [*full[:-1], replace(last, length=meter.bar, symbols=symbols)]


def keys_of(page: Page, first: Key) -> tuple[Key, ...]:
    """Return the key in force at the beginning of each full bar."""
    return tuple(measure.key or first for measure in page.full)


def build_chart(page: Page, meter: Meter, findings: Findings) -> Chart | None:
    """Return the chart, each symbol held until the next; None where there is no symbol."""
    opening = page.pickup.symbols[-1] if page.pickup and page.pickup.symbols else None
    if opening is None and not any(measure.symbols for measure in page.full):
        if not findings.problems:  # of which one may be a symbol that isn't read
            findings.problem(
                Place(), 'it has no chord symbols; write them above the notes (in ABC: "Cm7"E2)'
            )
        return None
    first = page.full[0].symbols
    if opening is None and not (first and first[0].onset == 0):
        place = next(each.place for measure in page.full for each in measure.symbols)
        findings.doubt(place, "no chord symbol stands at the beginning: N.C. until the first one")
    if _misplaced(page, meter, findings):
        return None
    held = opening or Symbol(ZERO, None, False, Place())
    bars: list[_Laid] = []
    for measure in page.full:
        bar, held = _bar(measure.symbols, held, meter.bar)
        bars.append(bar)
    return Chart(meter, _with_turnaround_last(bars, findings))


def _misplaced(page: Page, meter: Meter, findings: Findings) -> bool:
    """Note each symbol that has no place of its own within its bar; tell whether there is one."""
    found = False
    for measure in page.full:
        ends = [each.onset for each in measure.symbols[1:]] + [meter.bar]
        for symbol, end in zip(measure.symbols, ends, strict=False):
            if symbol.onset >= end:
                which = symbol_text(symbol.chord)
                findings.problem(symbol.place, f"the chord symbol {which} has no place in its bar")
                found = True
    return found


_Laid = list[tuple[Span, Place]]  # the spans of a bar, and where the symbol of each stands


def _with_turnaround_last(bars: Sequence[_Laid], findings: Findings) -> tuple[Bar, ...]:
    """Return the bars; what is in parentheses but doesn't end the chart is a plain chord in it."""
    laid = [each for bar in bars for each in bar]
    plain = len(laid) - turnaround_at_end([span for span, _ in laid])
    last = {place for _, place in laid[plain:]}  # a repeat passes it once before
    for span, place in laid[:plain]:
        if span.turnaround and place not in last:
            findings.doubt(
                place,
                f"({symbol_text(span.chord)}) isn't the last chord after others: "
                "read as a plain chord, not as the turnaround",
            )
    ends = iter(index >= plain for index in range(len(laid)))
    return tuple(
        Bar(tuple(replace(span, turnaround=next(ends)) for span, _ in bar)) for bar in bars
    )


def _bar(symbols: tuple[Symbol, ...], held: Symbol, length: Fraction) -> tuple[_Laid, Symbol]:
    starts = list(symbols)
    if not starts or starts[0].onset > 0:
        starts.insert(0, replace(held, onset=ZERO))
    ends = [each.onset for each in starts[1:]] + [length]
    laid = [
        (Span(each.onset, end - each.onset, each.chord, each.turnaround), each.place)
        for each, end in zip(starts, ends, strict=True)
    ]
    return laid, starts[-1]


def build_line(page: Page, meter: Meter, findings: Findings) -> tuple[LineNote, ...]:
    """Return the line with ties joined; onsets count from the first full bar."""
    placed: list[tuple[Fraction, Sound]] = []
    if page.pickup:
        before = page.pickup.length
        placed += [(each.onset - before, each) for each in page.pickup.sounds]
    for index, measure in enumerate(page.full):
        start = meter.bar * index
        placed += [(start + each.onset, each) for each in measure.sounds]
    for _, sound in placed:
        if not 0 <= sound.pitch.midi <= HIGHEST_MIDI:
            findings.problem(sound.place, f"{sound.pitch.text()} is beyond any instrument")
    end = meter.bar * len(page.full)
    for onset, sound in placed:
        if onset == end:
            findings.doubt(sound.place, LOOSE_GRACE)
    return _join_ties([each for each in placed if each[0] < end], findings)


def _join_ties(
    placed: Sequence[tuple[Fraction, Sound]], findings: Findings
) -> tuple[LineNote, ...]:
    line: list[LineNote] = []
    open_tie: Sound | None = None
    for onset, sound in placed:
        before = line[-1] if line else None
        if (
            open_tie is not None
            and before is not None
            and sound.length
            and before.pitch == sound.pitch
            and before.onset + before.length == onset
        ):
            length = before.length + sound.length
            line[-1] = replace(before, length=length, target=before.target or sound.target)
        else:
            if open_tie is not None:
                _loose_tie(open_tie, findings)
            line.append(LineNote(onset, sound.length, sound.pitch, sound.target))
        open_tie = sound if sound.tied else None
    if open_tie is not None:
        _loose_tie(open_tie, findings)
    return tuple(line)


def _loose_tie(sound: Sound, findings: Findings) -> None:
    findings.doubt(sound.place, f"the tie from {sound.pitch.text()} leads to no note like it")


def check_title(title: str | None, place: Place, findings: Findings) -> None:
    """Note where a title is lacking or too long to be shown."""
    if not title:
        findings.problem(place, "it has no title; add one with --title, or in the file (T: in ABC)")
    elif len(title) > LONGEST_TITLE:
        findings.problem(place, f"its title is longer than {LONGEST_TITLE} characters")


def whole_tempo(
    exact: Fraction | None, given: int | None, place: Place, findings: Findings
) -> int | None:
    """Return the tempo in whole quarter notes a minute; note what is wrong or rounded."""
    if exact is None and given is None:
        findings.no_tempo = True
        findings.problem(
            place, "it has no tempo; add one with --tempo, or in the file (Q:1/4=132 in ABC)"
        )
        return None
    tempo = round(exact) if exact is not None else int(given or 0)
    if not LOWEST_TEMPO <= tempo <= HIGHEST_TEMPO:
        findings.problem(place, f"the tempo is {tempo}; {LOWEST_TEMPO} to {HIGHEST_TEMPO} is read")
    elif exact is not None and exact != tempo:
        findings.doubt(place, f"the tempo {amount_text(exact)} is rounded to {tempo} a minute")
    return tempo
