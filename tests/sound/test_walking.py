"""The walking bass in charts of our own: what a teacher would stop, counted.

Common practice throughout: a bass under a minor chord never plays its major third, a walking
line isn't the same twice running, and it closes its loop without a leap over an octave.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

import pytest

from drillbox.music.chords import has_minor_third
from drillbox.music.keys import parse_key, twelve
from drillbox.music.moving.transposition import chart_to
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.sound.loop_parts import Layout, LoopOptions, LoopPart
from drillbox.sound.patterns import Event, events

# Invented, each with minor chords of two beats that go on by all sorts of intervals.
CHARTS = (
    ("4/4", "Dm7 G7 | Cmaj7 Am7 | Fm7 Bb7 | C6"),
    ("4/4", "Em7 A7 | Am7 D7 | Fm6 Em7 | Dm7 G7"),
    ("4/4", "Cmaj7 Cm7 | Bm7b5 E7 | Am7 Abm7 | Gm7 C7"),
    ("4/4", "Fm7 Abm7 | Dbmaj7 Gm7 | Bbm7 Em7 | C6 G7"),
    ("4/4", "Am7 Bm7 | Cm7 F#m7 | Dm7 Fm7 | Em7 Cm6"),
    ("4/4", "Dm Dm(maj7) | Dm7 Dm6 | Gm7 C7 | Fmaj7 A7"),
    ("12/8", "Dm7 | Em7 A7 | Dm7 G7 | C6"),
    ("6/8", "Dm7 | G7 | Em7 | Am7"),
    ("3/4", "Dm7 | G7 | Cm7 | F7"),
)


def walks() -> Iterator[tuple[Layout, list[Event]]]:
    """Yield three choruses of each chart in each key."""
    home = parse_key("C")
    for meter, text in CHARTS:
        chart = parse_chart(text, parse_meter(meter))
        for key in twelve("major"):
            part = LoopPart(chart_to(chart, home.interval_to(key)))
            options = LoopOptions(120, loops=3, clicks=None, bass="walking", chords=False)
            layout, found = events([part], options)
            yield layout, [each for each in found if each.voice == "bass"]


def within(found: list[Event], start: Fraction, length: Fraction) -> list[Event]:
    return [each for each in found if start <= each.start < start + length]


def minor_chords() -> Iterator[bool]:
    """Yield for each minor chord of three choruses whether its major third is left alone."""
    for layout, found in walks():
        for loop in range(3):
            for held in layout.held:
                if held.chord and has_minor_third(held.chord):
                    start = layout.count_in + loop * layout.once + held.start
                    wrong = (held.chord.root.pitch_class + 4) % 12
                    notes = within(found, start, held.length)
                    yield all(each.pitch % 12 != wrong for each in notes)


def bars() -> Iterator[bool]:
    """Yield for each bar of the second and third chorus whether it differs from the last one."""
    for layout, found in walks():
        bar = layout.pulse.meter.bar
        for place in range(int(layout.once / bar), int(3 * layout.once / bar)):
            start = layout.count_in + place * bar
            now = [each.pitch for each in within(found, start, bar)]
            yield now != [each.pitch for each in within(found, start - layout.once, bar)]


def seams() -> Iterator[bool]:
    """Yield for each chorus whether it goes on to the next, or back to the first, in an octave."""
    for layout, found in walks():
        for loop in range(3):
            notes = within(found, layout.count_in + loop * layout.once, layout.once)
            ahead = within(found, layout.count_in + (loop + 1) * layout.once, layout.once)
            yield abs(notes[-1].pitch - (ahead or found)[0].pitch) <= 12


def steps() -> Iterator[bool]:
    """Yield for each chart with room whether 2, 4 or 6 sounds between a root and an approach."""
    for layout, found in walks():
        inner = [
            (each.pitch - held.chord.root.pitch_class) % 12
            for loop in range(3)
            for held in layout.held
            if held.chord
            for each in within(
                found, layout.count_in + loop * layout.once + held.start, held.length
            )[1:-1]
        ]
        if len(inner) > 6:
            yield bool({2, 5, 9} & set(inner))


@pytest.mark.parametrize("case", [minor_chords, bars, seams, steps])
def test_the_walk_has_none_of_a_beginners_faults(case) -> None:  # type: ignore[no-untyped-def]
    """Proves no major third under minor, no bar twice running, near seams, some scale steps."""
    found = list(case())
    assert len(found) >= 24
    assert all(found), f"{sum(found)} of {len(found)}"


def test_a_compound_bar_walks_in_dotted_beats() -> None:
    """Proves four bass notes and four clicks in a bar of 12/8, two in one of 6/8."""
    for meter, count in (("12/8", 4), ("6/8", 2), ("9/8", 3)):
        part = LoopPart(parse_chart("C6", parse_meter(meter)))
        _, found = events([part], LoopOptions(120, loops=1, bass="walking", chords=False))
        clicks = [each for each in found if each.voice in ("accent", "plain")]
        bass = [each for each in found if each.voice == "bass"]
        assert [each.length for each in bass] == [Fraction(3, 2)] * count
        assert len(bass) == count
        gaps = {after.start - before.start for before, after in pairwise(clicks)}
        assert gaps == {Fraction(3, 2)}


def test_the_same_file_walks_the_same_way_again() -> None:
    """Proves that the choices are seeded: two renderings are alike, note for note."""
    first, second = ([each for _, notes in walks() for each in notes] for _ in range(2))
    assert first == second
