"""Reads MusicXML 4.0, plain or compressed.

A walk of our own takes lengths, symbols, repeats and header from the XML, by the standard's
meaning; music21 reads the notes of a cleaned copy (``musicxml_notes`` says why so).

The player's marks: an accent on a note makes it a target; the word "turnaround" at a chord
symbol says what it says, as does "double time"; "N.C." may stand as a word or as kind none.
"""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree.ElementTree import Element

from drillbox.errors import BadInput
from drillbox.music.charts import Meter
from drillbox.music.keys import Key
from drillbox.music.phrases import Phrase
from drillbox.notation.assembly import (
    TAKE_BARS,
    build_chart,
    build_line,
    check_title,
    keys_of,
    lay_out,
    long_brackets,
    whole_tempo,
)
from drillbox.notation.musicxml_notes import read_notes
from drillbox.notation.musicxml_score import (
    chosen_part,
    key_of,
    part_names,
    partwise,
    tempo_of,
    title_of,
)
from drillbox.notation.musicxml_tree import is_archive, parse_tree, score_bytes
from drillbox.notation.musicxml_walk import PartWalk, WalkedMeasure
from drillbox.notation.repeats import play_order, without_pickup
from drillbox.notation.result import Given, Limits, Reading, Tune
from drillbox.notation.sheet import Findings, Measure, Place
from drillbox.output import some
from drillbox.tick import Tick, silent, stage

_TOP = Place()


@dataclass(frozen=True, slots=True)
class _Score:
    """The score and what to read of it."""

    root: Element
    names: dict[str, str]
    chosen: str
    limits: Limits
    given: Given
    findings: Findings
    tick: Tick

    def part(self, each: str) -> Element:
        return next(part for part in self.root.findall("part") if part.get("id", "") == each)


def read_musicxml(
    data: bytes, part: str | None, limits: Limits, given: Given, tick: Tick = silent
) -> Reading:
    """Read the one tune of a MusicXML file; raise BadInput where it is none."""
    findings = Findings()
    if is_archive(data):
        data, doubt = score_bytes(data, limits.bytes)
        if doubt:
            findings.doubt(_TOP, doubt)
    root = partwise(parse_tree(data))
    names = part_names(root)
    score = _Score(root, names, chosen_part(names, part), limits, given, findings, tick)
    others = [name for each, name in names.items() if each != score.chosen]
    if others and part is None:
        findings.doubt(
            _TOP, f"only part {names[score.chosen]} is read; --part takes another: {some(others)}"
        )
    title = title_of(root) or given.title or ""
    walk = _walked(score, score.chosen, findings, stage(tick, 0, 2))
    phrase, keys = _phrase(score, walk, title)
    phrase = None if findings.problems else phrase
    problems, doubts = tuple(findings.problems), tuple(findings.doubts)
    needs_tempo = findings.needs_tempo()
    titled = title or "tune 1"
    tune = Tune(1, titled, phrase, problems, doubts, True, needs_tempo, keys, walk.interval)
    return Reading((tune,))


def _phrase(score: _Score, walk: PartWalk, title: str) -> tuple[Phrase | None, tuple[Key, ...]]:
    """Return the phrase, and the key in force at the beginning of each of its bars."""
    findings, given = score.findings, score.given
    if part_notes(walk) > 4 * score.limits.notes or len(walk.measures) > score.limits.bars + 1:
        findings.problem(
            _TOP,
            f"it is longer than {score.limits.bars} bars or {score.limits.notes} notes; "
            f"{TAKE_BARS}",
        )
        return None, ()
    lacks_meter = walk.meter is None and not findings.problems  # one may be a meter not read
    _borrow_symbols(score, walk)
    check_title(title, _TOP, findings)
    key = key_of(walk.key, walk.interval, given.key_on_page(walk.interval), findings)
    exact = tempo_of(score.root, findings) if given.goal is None else None
    tempo = whole_tempo(exact, given.goal or given.tempo, _TOP, findings)
    meter = walk.meter or given.meter
    if meter is None and lacks_meter:
        findings.problem(_TOP, "it has no meter; add one with --meter 4/4")
    if findings.problems or meter is None:
        return None, ()
    try:
        measures = _measures(walk, score, meter)
    except BadInput as wrong:
        findings.problem(_TOP, wrong.line())
        return None, ()
    page = lay_out(measures, meter, findings)
    line = build_line(page, meter, findings)
    if len(page.full) > score.limits.bars or len(line) > score.limits.notes:
        findings.problem(
            _TOP,
            f"it has {len(page.full)} bars and {len(line)} notes; "
            f"{score.limits.bars} and {score.limits.notes} are read; {TAKE_BARS}",
        )
    chart = build_chart(page, meter, findings)
    if chart is None or key is None or tempo is None:
        return None, ()
    return Phrase(title, key, tempo, chart, line, walk.double_time), keys_of(page, key)


def part_notes(walk: PartWalk) -> int:
    """Return how many notes a part has on the page."""
    return sum(len(measure.notes) for measure in walk.measures)


def _borrow_symbols(score: _Score, walk: PartWalk) -> None:
    """Take the symbols of another part where the chosen one has none; note what is about them."""
    lender = walk
    if not _has_symbols(walk):
        others = (each for each in score.names if each != score.chosen)
        walks = (_walked(score, each, Findings()) for each in others)
        lender = next(filter(_has_symbols, walks), walk)
    if lender is not walk:
        score.findings.doubt(_TOP, f"the chord symbols are those of part {lender.name}")
        score.findings.problems += lender.findings.problems
        for measure, lent in zip(walk.measures, lender.measures, strict=False):
            measure.symbols = lent.symbols
    score.findings.problems += lender.symbol_findings.problems
    score.findings.doubts += lender.symbol_findings.doubts


def _has_symbols(walk: PartWalk) -> bool:
    return any(measure.symbols.settled for measure in walk.measures)


def _walked(score: _Score, each: str, findings: Findings, tick: Tick = silent) -> PartWalk:
    walk = PartWalk(score.names[each], findings, score.given)
    walk.walk(score.part(each), tick)
    return walk


def _later_key(walk: PartWalk, measure: WalkedMeasure, given: Given) -> Key | None:
    """Return the key of a measure where it isn't the part's first, and can be read."""
    if measure.key is None or measure.key is walk.key:
        return None
    on_page = given.key_on_page(walk.interval)
    return key_of(measure.key, walk.interval, on_page, Findings())


def _measures(walk: PartWalk, score: _Score, meter: Meter) -> list[Measure]:
    """Return the measures in play order, with their notes."""
    tick = stage(score.tick, 1, 2)
    sounds = read_notes(walk.measures, walk.interval, score.findings, tick)
    tick(1, 1)
    if score.findings.problems:
        return []
    written = [
        Measure(
            each.length,
            notes,
            tuple(each.symbols.settled),
            each.place,
            each.splittable,
            _later_key(walk, each, score.given),
        )
        for each, notes in zip(walk.measures, sounds, strict=True)
    ]
    lengths = [measure.length for measure in written]
    marks = without_pickup([each.mark() for each in walk.measures], lengths, meter.bar)
    marks = long_brackets(marks, [each.place for each in walk.measures], score.findings)
    return [written[index] for index in play_order(marks, score.limits.bars + 1)]
