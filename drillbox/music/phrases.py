"""A phrase: the idea, written down in one key; what it may be, and a part of it by its bars."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from drillbox.errors import BadInput
from drillbox.music.charts import MOST_BARS, Bar, Chart, fraction_from
from drillbox.music.chords import Chord
from drillbox.music.keys import Key
from drillbox.music.pitch import Name, Pitch, pitch_from
from drillbox.output import is_utf8

LOWEST_TEMPO, HIGHEST_TEMPO = 20, 400


@dataclass(frozen=True, slots=True)
class LineNote:
    """One sounding note of the line, at concert pitch, ties already joined.

    ``onset`` and ``length`` are exact, in quarter notes from the first full bar; a pickup
    has a negative onset. A grace note has length 0. ``target`` is set where the player
    marked the note (an accent in the file) as one that the line aims at.
    """

    onset: Fraction
    length: Fraction
    pitch: Pitch
    target: bool = False


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase in its written key. ``tempo`` is the goal in quarter notes a minute.

    ``line`` is empty where only the chart was typed in.
    """

    title: str
    key: Key
    tempo: int
    chart: Chart
    line: tuple[LineNote, ...] = ()
    double_time: bool = False


LONGEST_TITLE = 120


def check_title(text: str, example: str = "'Late kettle'") -> str:
    """Return a title with its blanks collapsed and control characters gone.

    Raises BadInput where nothing is left, it is too long, or bytes in it couldn't be read, with
    an ``example`` of how one is given.
    """
    if not is_utf8(text):
        raise BadInput("The title isn't UTF-8", f"Write it in UTF-8, as in: {example}")
    spaced = re.sub(r"\s+", " ", text)
    title = "".join(c for c in spaced if unicodedata.category(c) != "Cc").strip()
    if not any(c.isprintable() and not c.isspace() for c in title):
        raise BadInput("The title is empty", f"Give one, as in: {example}")
    if len(title) > LONGEST_TITLE:
        raise BadInput(
            f"The title has {len(title)} characters", f"Shorten it to {LONGEST_TITLE} or fewer."
        )
    return title


def folded_title(title: str) -> str:
    """Return the title as it counts for being the same: case, accents' coding, blanks aside."""
    return " ".join(unicodedata.normalize("NFKC", title).casefold().split())


def numbered_title(title: str, taken: Container[str]) -> str:
    """Return a title that isn't taken: this one, or with the first number that is free.

    ``taken`` are folded titles.
    """
    free, number = title, 1
    while folded_title(free) in taken:
        number += 1
        end = f" ({number})"
        free = title[: LONGEST_TITLE - len(end)].rstrip() + end
    return free


LONGEST_TAG, MOST_TAGS = 40, 20


def check_tags(texts: Sequence[str]) -> tuple[str, ...]:
    """Return tags in order, each once whatever its case; raise BadInput for what is none."""
    kept: dict[str, str] = {}
    for text in texts:
        tag = " ".join(text.split())
        if not re.fullmatch(r"[^\W_][\w &'./+-]*", tag) or len(tag) > LONGEST_TAG:
            raise BadInput(
                f"{text[:LONGEST_TAG]!r} can't be a tag",
                f"Use letters, digits and blanks, {LONGEST_TAG} at most, as in: --tag quartet",
            )
        kept.setdefault(tag.casefold(), tag)
    if len(kept) > MOST_TAGS:
        raise BadInput(f"{len(kept)} tags are too many", f"Use {MOST_TAGS} at most.")
    return tuple(kept.values())


def retagged(
    tags: Sequence[str], adding: Sequence[str], removing: Sequence[str]
) -> tuple[str, ...]:
    """Return tags with some removed, then others added.

    Raises BadInput for what is no tag, and for one to be removed that isn't among them.
    """
    known = {each.casefold() for each in tags}
    gone = {each.casefold() for each in check_tags(removing)}
    if strange := gone - known:
        has = f"Its tags are {', '.join(tags)}" if tags else "It has no tags"
        raise BadInput(f"It has no tag {min(strange)!r}", has)
    return check_tags([*(each for each in tags if each.casefold() not in gone), *adding])


def check_tempo(text: str) -> int:
    """Return a goal tempo in quarter notes a minute; raise BadInput if it is none."""
    remedy = f"Use a whole number from {LOWEST_TEMPO} to {HIGHEST_TEMPO} (quarter notes a minute)"
    if not re.fullmatch(r"-?[0-9]{1,9}", text.strip()):
        raise BadInput(f"Tempo {text.strip()[:20]!r} isn't a whole number", remedy)
    tempo = int(text)
    if not LOWEST_TEMPO <= tempo <= HIGHEST_TEMPO:
        raise BadInput(f"Tempo {tempo} is out of range", remedy)
    return tempo


def are_new(titles: Iterable[str], taken: Iterable[str]) -> list[bool]:
    """Return of each title whether it is new: neither taken nor before it among them."""
    seen = {folded_title(title) for title in taken}
    new = []
    for folded in map(folded_title, titles):
        new.append(folded not in seen)
        seen.add(folded)
    return new


def has_tag(tags: Sequence[str], tag: str) -> bool:
    """Return whether a tag is among tags, whatever its case."""
    return " ".join(tag.split()).casefold() in {each.casefold() for each in tags}


MOST_NOTES = 8192
HIGHEST_MIDI = 127
MOST_BEATS, UNITS = 64, (1, 2, 4, 8, 16, 32, 64)
_FINEST = 10**12  # parts of a quarter note: tuplets within tuplets come to many
_MOST_DEGREES, _HIGHEST_DEGREE, _MOST_ALTER = 20, 15, 6
_ACTIONS = frozenset({"add", "alter", "subtract"})


def check_chart(chart: Chart, most_bars: int = MOST_BARS) -> Chart:
    """Return the chart; raise ValueError where it isn't one that a file or a player could give."""
    if not 1 <= chart.meter.beats <= MOST_BEATS or chart.meter.unit not in UNITS:
        raise ValueError(f"the meter {chart.meter.text():.20} can't be played")
    if not 1 <= len(chart.bars) <= most_bars:
        raise ValueError(f"a chart has 1 to {most_bars} bars, not {len(chart.bars)}")
    for number, bar in enumerate(chart.bars, start=1):
        if wrong := _wrong_in(bar):
            raise ValueError(f"bar {number}: {wrong}")
    return chart


def _wrong_in(bar: Bar) -> str | None:
    for span in bar.spans:
        if span.length.denominator > _FINEST:
            return "a chord's length is too finely divided"
        if span.chord is not None and (wrong := _wrong_chord(span.chord)):
            return wrong
    return None


def _wrong_chord(chord: Chord) -> str | None:
    if not all(_is_spelled(name) for name in (chord.root, chord.bass) if name is not None):
        return "a root or a bass has too many accidentals"
    if len(chord.degrees) > _MOST_DEGREES:
        return "a chord has too many degrees"
    for degree in chord.degrees:
        whole = type(degree.number) is int and type(degree.alter) is int
        if not whole or not isinstance(degree.action, str) or degree.action not in _ACTIONS:
            return "a chord has a degree that can't be read"
        if not 1 <= degree.number <= _HIGHEST_DEGREE or abs(degree.alter) > _MOST_ALTER:
            return "a chord has a degree out of range"
    return None


def _is_spelled(name: Name) -> bool:
    return abs(name.alter) <= _MOST_ALTER


def check_line(line: Sequence[LineNote], chart: Chart) -> None:
    """Raise ValueError unless the line lies over the chart, note after note.

    A pickup is shorter than a bar; what begins on the chart may sound on past its end. At the
    very end a grace note may stand that leads to none, which earlier versions could store.
    """
    if len(line) > MOST_NOTES:
        raise ValueError(f"a line has at most {MOST_NOTES} notes, not {len(line)}")
    before = -chart.meter.bar
    for number, note in enumerate(line, start=1):
        loose = note.onset == chart.length and not note.length
        if not (before <= note.onset < chart.length or loose):
            raise ValueError(f"note {number} isn't in order, or not over the chart")
        if not 0 <= note.length <= 2 * chart.length:
            raise ValueError(f"note {number} has no usable length")
        if max(note.onset.denominator, note.length.denominator) > _FINEST:
            raise ValueError(f"note {number} is too finely divided")
        if not _is_spelled(note.pitch.name) or not 0 <= note.pitch.midi <= HIGHEST_MIDI:
            raise ValueError(f"note {number} is beyond any instrument")
        before = note.onset


# Longer than this is rather a tune than a phrase; a rule of thumb.
LONG_PHRASE = 16


def parse_bars(text: str) -> tuple[int, int]:
    """Read ``5-8`` or ``5``: the first and the last bar, from 1; raise BadInput if it's neither."""
    match = re.fullmatch(r"\s*([1-9]\d{0,3})\s*(?:[-–]\s*([1-9]\d{0,3}))?\s*", text)
    first, last = (int(match[1]), int(match[2] or match[1])) if match else (1, 0)
    if last < first:
        raise BadInput(
            f"{text[:20]!r} isn't a range of bars", "Write the first and the last: --bars 5-8"
        )
    return first, last


def excerpt(phrase: Phrase, first: int, last: int) -> Phrase:
    """Return the bars from ``first`` to ``last``, counted from 1, as a separate phrase.

    A note that sounds over the first bar line comes along whole, as a pickup, where it is
    shorter before it than a bar; one that sounds beyond the last is cut there. The tune's own
    pickup belongs to its first bar, its turnaround to its last. Raises BadInput where there
    are no such bars.
    """
    count = len(phrase.chart.bars)
    if last > count:
        raise BadInput(f"{phrase.title!r} has {count} bars", f"Take bars from 1 to {count}.")
    bar = phrase.chart.meter.bar
    start, end = bar * (first - 1), bar * last
    notes = (_within(note, start, end, bar) for note in phrase.line)
    bars = phrase.chart.bars[first - 1 : last]
    chart = Chart(phrase.chart.meter, bars if last == count else tuple(map(_plain, bars)))
    which = f"bars {first}-{last}" if last > first else f"bar {first}"
    return replace(
        phrase,
        title=f"{phrase.title}, {which}",
        chart=chart,
        line=tuple(note for note in notes if note is not None),
    )


def _within(note: LineNote, start: Fraction, end: Fraction, bar: Fraction) -> LineNote | None:
    """Return what a note adds to the bars between ``start`` and ``end``, counted from there."""
    onset, over = note.onset, note.onset + note.length
    if onset < start < over:
        onset = onset if start - onset < bar else start
    elif not (start <= onset < end or (start == 0 and onset < 0)):
        return None
    return replace(note, onset=onset - start, length=min(over, end) - onset)


def _plain(bar: Bar) -> Bar:
    return Bar(tuple(replace(span, turnaround=False) for span in bar.spans))


def line_json(line: Sequence[LineNote]) -> list[list[Any]]:
    """Return the line as plain JSON values, for rows.

    A note is ``[onset, length, pitch]`` with a final ``1`` for a marked target.
    """
    return [
        [str(note.onset), str(note.length), note.pitch.text(), *([1] if note.target else [])]
        for note in line
    ]


def line_from(value: Sequence[Sequence[Any]]) -> tuple[LineNote, ...]:
    """Return the line that ``line_json`` wrote; raise ValueError if the value isn't a line."""
    try:
        return tuple(
            LineNote(
                fraction_from(note[0]), fraction_from(note[1]), pitch_from(note[2]), len(note) > 3
            )
            for note in value
        )
    except (LookupError, TypeError, AttributeError, ArithmeticError) as error:
        raise ValueError(f"no line: {error}") from error
