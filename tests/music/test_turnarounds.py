"""The turnaround: proposed, found, and aimed at the next key."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.charts import Bar, Chart, Meter
from drillbox.music.chords import Chord, is_written
from drillbox.music.keys import MAJOR, MINOR, Key, Spelling, parse_key, twelve
from drillbox.music.moving.transposition import chart_to
from drillbox.music.pitch import LETTERS, Name
from drillbox.music.symbols.typed import parse_chart
from drillbox.music.turnarounds import (
    Style,
    lead_to,
    leaves_room,
    propose_turnaround,
    turnaround_style,
    with_turnaround,
    without_turnaround,
)
from tests.music.shorthand import chart, short, sounding, symbols
from tests.music.worked import phrase as written
from tests.rows import every_row

C = parse_key("C")
CM = parse_key("Cm")


def taken_off(led: Chart) -> Chart:
    """Undo ``lead_to``: marked spans go, bars of nothing else too; what stood before is held on."""
    bars = []
    for bar in led.bars:
        kept = [span for span in bar.spans if not span.turnaround]
        if kept:
            rest = led.meter.bar - kept[-1].start
            bars.append(Bar((*kept[:-1], replace(kept[-1], length=rest))))
    return replace(led, bars=tuple(bars))


def lengths(read: Chart) -> list[int | float]:
    return [float(span.length) for _, span in read.spans()]


def proposed(text: str, key: Key = C, style: Style = "dominant", meter: str = "4/4") -> Chart:
    beats, unit = map(int, meter.split("/"))
    found = propose_turnaround(chart(text, Meter(beats, unit)), key, style)
    assert found
    return found


@pytest.mark.parametrize(
    ("text", "style", "expected", "held"),
    [
        # A V7 lies a fifth above its aim; its ii a tone above the aim; its substitute, which
        # has the same third and seventh, a semitone above the aim.
        ("Dm7 G7 | Cmaj7", "dominant", "Dm7 G7 | Cmaj7 A7*", [2, 2, 2, 2]),
        ("Dm7 G7 | Cmaj7", "two-five", "Dm7 G7 | Cmaj7 Em7* A7*", [2, 2, 2, 1, 1]),
        ("Dm7 G7 | Cmaj7", "substitute", "Dm7 G7 | Cmaj7 Eb7*", [2, 2, 2, 2]),
        ("Cmaj7 A7 | Dm7 F6", "dominant", "Cmaj7 A7 | Dm7 F6 G7*", [2, 2, 2, 1, 1]),
        ("Cmaj7 A7 | Dm7 F6", "two-five", "Cmaj7 A7 | Dm7 F6 G7*", [2, 2, 2, 1, 1]),
        ("Cmaj7 | NC", "dominant", "Cmaj7 | NC G7*", [4, 2, 2]),
        ("NC | Cmaj7", "dominant", "NC | Cmaj7 G7*", [4, 2, 2]),
        ("C/E Am7", "dominant", "C/E Am7 G7*", [2, 1, 1]),
        ("Cmaj7 | Gm7", "dominant", "Cmaj7 | Gm7 G7*", [4, 2, 2]),
    ],
)
def test_a_turnaround_is_proposed(text: str, style: Style, expected: str, held: list[int]) -> None:
    """It leads to the first chord that sounds and takes half of the last one, in whole beats."""
    found = proposed(text, style=style)
    assert symbols(found) == expected
    assert lengths(found) == held


@every_row(
    ("key", "text", "style", "expected"),
    [
        # Suspended dominants written as slash chords: G9sus4, C9sus4, G13sus4, G7sus4b9.
        ("C", "F/G | G7 | Cmaj7 | %", "dominant", "D7"),
        ("C", "F/G | G7 | Cmaj7 | %", "two-five", "Am7 D7"),
        ("C", "F/G | G7 | Cmaj7 | %", "substitute", "Ab7"),
        ("F", "Bb/C | C7 | Fmaj7 | %", "dominant", "G7"),
        ("C", "Fmaj7/G | Cmaj7", "dominant", "D7"),
        ("Cm", "Dm7b5/G | Cm6", "dominant", "D7"),
        # A diminished chord that leads up stands for the 7b9 a major third below it.
        ("C", "C#dim7 | Dm7 | G7 | Cmaj7", "dominant", "E7"),
        ("C", "C#dim7 | % | Dm7 | Cmaj7", "two-five", "Bm7 E7"),
        ("C", "Bdim7/C | Cmaj7", "dominant", "D7"),
        ("Bb", "Edim7 | Bb/F | Gm7 | Bb6", "dominant", "G7"),
        ("E", "Fdim7 | F#m7 | B7 | Emaj7", "dominant", "G#7"),  # to C#7, by the letter of F#m7
        # Any other decorates the chord that comes after it.
        ("C", "Ebdim7 | Dm7 | G7 | Cmaj7", "dominant", "A7"),
        ("C", "Cdim7 | Cmaj7", "dominant", "G7"),
        ("C", "Cdim7 | %", "substitute", "Db7"),
        ("C", "C/E | Cmaj7 | Fmaj7", "dominant", "G7"),  # an inversion is what it is
    ],
)
def test_a_turnaround_aims_at_the_first_chord_as_it_is_heard(
    key: str, text: str, style: Style, expected: str
) -> None:
    """And once it is there its style is seen again, which a round through the keys keeps."""
    found = propose_turnaround(parse_chart(text, Meter(4, 4)), parse_key(key), style)
    assert found
    assert " ".join(short(each.chord) for each in found.turnaround) == expected
    assert turnaround_style(found) == style


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("Am", "Am7 | D7"),  # Dorian
        ("Dm", "Dm7 | Em7"),
        ("G", "G7 | F | C | G7"),  # Mixolydian
        ("Em", "Em7 | Fmaj7"),  # Phrygian
        ("C", "Cmaj7 | D/C"),  # Lydian
        ("D Dorian", "Dm7 | Em7"),
    ],
)
def test_no_dominant_is_proposed_where_a_chart_keeps_to_a_mode(key: str, text: str) -> None:
    """It would make the mode a key (common practice), whether the key is named as one or not."""
    assert propose_turnaround(parse_chart(text, Meter(4, 4)), parse_key(key)) is None


@pytest.mark.parametrize(
    ("text", "meter", "held"),
    [
        ("Dm7 | Cmaj7", "3/4", [3, 2, 1]),
        ("Dm7 | Cmaj7", "5/4", [5, 3, 2]),
        ("Dm7 | Cmaj7", "6/8", [3, 1.5, 1.5]),
        ("Dm7 | Cmaj7", "2/2", [4, 2, 2]),
    ],
)
def test_the_room_is_whole_beats_of_any_meter(text: str, meter: str, held: list[float]) -> None:
    """Half of three beats is one, half of five is two."""
    assert lengths(proposed(text, meter=meter)) == held


@pytest.mark.parametrize(
    ("text", "meter"), [("Cmaj7 _ Em7 Am7", Meter(4, 4)), ("Dm7 | Cmaj7", Meter(1, 4))]
)
def test_no_bar_is_added_for_a_turnaround(text: str, meter: Meter) -> None:
    """A last chord of one beat has no room for another: then none is proposed."""
    assert propose_turnaround(chart(text, meter), C) is None


@every_row(
    ("key", "text"),
    [
        ("C", "Dm7 | G7"),  # V of the key, though the loop begins on ii
        ("C", "Cmaj7 | Fm7 Bb7"),  # backdoor
        ("C", "Cmaj7 A7 | Dm7 Bdim7"),  # leading-note diminished
        ("C", "Dm7 G7 | Cmaj7 C#dim7"),  # diminished up to ii
        ("C", "Dm7 G7 | Cmaj7 Ebdim7"),  # and down to it
        ("F", "Gm7 | C7 | Fmaj7 | Abdim7"),
        ("C", "Cmaj7 | G/B"),  # a V triad
        ("Am", "Am7 | Bm7b5 E7alt"),
        ("F", "Gm7 C7 | F6 D7b9"),
        ("C", "Dm7 G7 | Cmaj7 | Dm7 Db7"),  # the substitute, though the loop begins on ii
        ("C", "Dm7 G7 | Cmaj7 | Db7"),
        ("C", "Dm7 | Dm7 G7sus4"),
        ("C", "F/G | Cmaj7 | Am7 D7"),  # to G9sus4
        ("C", "F/G | Cmaj7 | C/D"),
    ],
)
def test_a_line_that_ends_on_a_chord_that_leads_home_gets_no_turnaround(
    key: str, text: str
) -> None:
    """Home is the first chord or the tonic of the key (common practice)."""
    assert propose_turnaround(parse_chart(text, Meter(4, 4)), parse_key(key)) is None


@pytest.mark.parametrize(
    ("key", "text", "meter", "line", "room"),
    [
        ("Bb", "Bb7 | Eb7", "4/4", "2.1 G4 2, 2.3 Db5 2", False),  # over F7 it is the b13
        ("Bb", "Bb7 | Eb7", "4/4", "2.1 G4 2, 2.3 C5 2", True),  # the 5
        ("Bb", "Bb7 | Eb7", "4/4", "2.1 G4 2, 2.3 D5 1, 2.4 G4 1", True),  # 13 and 9
        ("Bb", "Bb7 | Eb7", "4/4", "2.1 G4 4", True),  # it holds
        ("Bb", "Bb7 | Eb7", "4/4", "2.1 Db5 2", True),  # it rests
        ("Bb", "Bb7 | Eb7", "4/4", "2.1 G4 2, 2.3 Bb4 2", False),  # the 4 over the 3
        ("C", "Dm7 G7 | Cmaj7", "4/4", "2.1 E4 2, 2.3 C5 2", False),  # over A7
        ("C", "Dm7 G7 | Cmaj7", "4/4", "2.1 E4 2, 2.3 G4 1, 2.4 E4 1", True),
        ("Cm", "Cm6 | Fm6", "4/4", "2.1 Ab4 2, 2.3 Ab4 1, 2.4 Eb4 1", True),  # b9 and b13 of i
        ("Eb", "Fm7 | Ebmaj7", "5/4", "2.1 G4 1, 2.2 Eb4 1, 2.3 F4 1, 2.4 Eb4 1", False),
        ("C", "Dm7 G7 | Cmaj7", "4/4", "0.4 C4 1, 1.1 D4 4, 2.1 E4 2", True),  # a pickup
    ],
)
def test_a_turnaround_stands_where_the_line_leaves_room(
    key: str, text: str, meter: str, line: str, room: bool
) -> None:
    """The line rests there, holds, or plays tones and natural tensions of the turnaround."""
    beats, unit = map(int, meter.split("/"))
    read = written(text, line, key=key, meter=Meter(beats, unit))
    led = propose_turnaround(read.chart, read.key)
    assert led
    assert leaves_room(read.line, led, read.key) is room


def test_a_turnaround_is_replaced_and_taken_away() -> None:
    """Chords of the player's own stand where it stood; without one the chord before holds on."""
    there = chart("Dm7 G7 | Cmaj7 A7*")
    own = with_turnaround(there, chart("Em7 Eb7").sounding())
    assert own
    assert symbols(own) == "Dm7 G7 | Cmaj7 Em7* Eb7*"
    assert symbols(without_turnaround(own)) == "Dm7 G7 | Cmaj7"
    assert without_turnaround(own).length == own.length
    assert with_turnaround(chart("Cmaj7 _ Em7 Am7"), own.sounding()[-1:]) is None


def test_an_uneven_two_five_gives_the_longer_part_to_the_ii() -> None:
    """Three beats of its own in 3/4: two for the ii, one for the V; one of 6/8 isn't parted."""
    full = chart("Dm7 | Cmaj7 Am7 Dm7", Meter(3, 4))
    found = lead_to(full, full.sounding()[0], C, "two-five")
    assert symbols(found) == "Dm7 | Cmaj7 Am7 Dm7 | Em7* A7*"
    assert lengths(found) == [3, 1, 1, 1, 2, 1]
    found = proposed("Dm7 | Cmaj7", style="two-five", meter="6/8")
    assert symbols(found) == "Dm7 | Cmaj7 A7*"
    assert lengths(found) == [3, 1.5, 1.5]


@pytest.mark.parametrize(
    ("text", "key", "expected"),
    [
        ("Dm7 | Cmaj7", C, "Em7* A7*"),  # iii VI: B belongs to C
        ("Am7 | Cmaj7", C, "Bm7b5* E7*"),  # F# doesn't
        ("Cm6 | Cm6", CM, "Dm7b5* G7*"),
        ("Dm7b5 | Cm6", CM, "Em7b5* A7*"),
        ("Cmaj7 | C6", C, "Dm7* G7*"),
        ("C7 | C7", C, "Dm7* G7*"),
    ],
)
def test_the_ii_is_half_diminished_before_a_minor_chord_outside_the_key(
    text: str, key: Key, expected: str
) -> None:
    """The ii's fifth is the sixth above the aim: in the key it is perfect, otherwise lowered."""
    assert symbols(proposed(text, key, "two-five")).endswith(expected)


@pytest.mark.parametrize(
    "text",
    ["Dm7 G7 | Cmaj7 A7*", "Cmaj7 | Dm7 G7", "Cmaj7 A7 | Dm7 Db7", "NC", "NC | NC", "Cmaj7 | A7*"],
)
def test_nothing_is_proposed_where_nothing_is_needed(text: str) -> None:
    """There is a turnaround, a last chord that leads back by itself, or nothing sounds."""
    assert propose_turnaround(chart(text), C) is None


@pytest.mark.parametrize(("last", "leads"), [("G7#5", True), ("G9sus4", True), ("Gmaj7", False)])
def test_a_last_chord_leads_back_if_it_works_as_a_dominant(last: str, leads: bool) -> None:
    """Altered and suspended dominants lead back too; a major seventh on V doesn't."""
    found = propose_turnaround(parse_chart(f"Cmaj7 Fmaj7 | {last}", Meter(4, 4)), C)
    assert (found is None) == leads


def test_an_empty_chart_gets_no_proposal() -> None:
    """No bars, no chords."""
    assert propose_turnaround(Chart(Meter(4, 4), ()), C) is None


@pytest.mark.parametrize(
    ("text", "chord"),
    [
        ("Dm7 G7 | Cmaj7 A7*", "A7"),
        ("Dm7 G7 | Cmaj7 Em7* A7*", "A7"),
        ("Cmaj7 _ _ A7 | Dm7* | G7*", "G7"),
        ("Cmaj7 | G7", None),
    ],
)
def test_a_turnaround_is_found(text: str, chord: str | None) -> None:
    """Its last chord is the marked one; a dominant without a mark is none."""
    found = [short(span.chord) for span in chart(text).turnaround if span.chord]
    assert (found[-1] if found else None) == chord


@pytest.mark.parametrize(
    ("text", "style"),
    [
        ("Dm7 G7 | Cmaj7 A7*", "dominant"),
        ("Dm7 G7 | Cmaj7 Em7* A7*", "two-five"),
        ("Dm7 G7 | Cmaj7 Eb7*", "substitute"),
        ("Dm7 G7 | Cmaj7 Ab7*", "dominant"),
        ("Dm7 | Cmaj7", "dominant"),
        ("Dm7 | A7* | A7*", "dominant"),
    ],
)
def test_the_style_of_a_turnaround_is_seen(text: str, style: Style) -> None:
    """Two chords are a two-five; a semitone above the first chord is a substitute."""
    assert turnaround_style(chart(text)) == style


# Any chord may be approached by its dominant; where the next round begins on its ii, the
# dominant aims at that ii (common practice). From a phrase in C that begins on its ii.
MOVES = """
F  | Gm7 C7   | D7  | Ab7
B  | C#m7 F#7 | G#7 | D7
Eb | Fm7 Bb7  | C7  | Gb7
Bb | Cm7 F7   | G7  | Db7
Db | Ebm7 Ab7 | Bb7 | E7
"""


@pytest.mark.parametrize("row", MOVES.strip().splitlines(), ids=lambda row: row[:2].strip())
def test_leading_into_the_next_key(row: str) -> None:
    """A fifth down, a semitone down, a minor third up, a tone down, a semitone up."""
    name, two_five, dominant, substitute = (part.strip() for part in row.split("|"))
    here = chart("Dm7 G7 | Cmaj7 A7*")
    key = parse_key(name)
    there = chart_to(here, C.interval_to(key))
    assert symbols(there).startswith(two_five)
    first = there.sounding()[0]
    assert symbols(lead_to(here, first, key)) == f"Dm7 G7 | Cmaj7 {dominant}*"
    assert symbols(lead_to(here, first, key, "substitute")) == f"Dm7 G7 | Cmaj7 {substitute}*"


@pytest.mark.parametrize("style", ["dominant", "two-five", "substitute"])
@pytest.mark.parametrize("keys", [MAJOR, MINOR], ids=["major", "minor"])
def test_leading_over_all_moves(keys: tuple[Key, ...], style: Style) -> None:
    """All 12 x 12 moves: the last chord is a dominant a fifth (substitute: a semitone) above
    the next first chord, on a root that players write; nothing before it changes."""
    home = keys[0]
    written = chart("Dm7 G7 | Cmaj7 A7*" if home == C else "Dm7b5 G7 | Cm6 A7*")
    above = 1 if style == "substitute" else 7
    for key in keys:
        here = chart_to(written, home.interval_to(key))
        for other in keys:
            first = chart_to(written, home.interval_to(other)).sounding()[0]
            led = lead_to(here, first, other, style)
            last = led.turnaround[-1].chord
            assert last
            assert last.kind == "dominant"
            assert (last.root.pitch_class - first.root.pitch_class) % 12 == above
            assert all(is_written(each.root) for each in led.sounding())
            assert taken_off(led) == taken_off(here)
            if style == "two-five":
                assert led.sounding()[-2].root.interval_to(last.root).steps == 3


def test_a_ii_and_its_v_are_spelled_alike() -> None:
    """To D#m the pair is respelled together: Fm7b5 Bb7, not Fm7b5 A#7."""
    here = chart("Dm7b5 G7 | Cm6 G7*")
    key = twelve("minor", Spelling(ebm="D#m"))[3]
    assert symbols(lead_to(here, sounding("D#m7"), key, "two-five")).endswith("Fm7b5* Bb7*")
    assert symbols(lead_to(here, sounding("A#m7"), key, "two-five")).endswith("Cm7b5* F7*")


def test_leading_keeps_the_place_and_the_manner_of_the_turnaround() -> None:
    """A two-five stays one, a substitute too; a turnaround of several bars keeps its bars."""
    to, key = sounding("Gm7"), parse_key("F")
    assert symbols(lead_to(chart("Dm7 G7 | Cmaj7 _ Em7* A7*"), to, key)) == (
        "Dm7 G7 | Cmaj7 Am7* D7*"
    )
    assert symbols(lead_to(chart("Dm7 G7 | Cmaj7 Eb7*"), to, key)) == "Dm7 G7 | Cmaj7 Ab7*"
    wide = lead_to(chart("Dm7 G7 | Cmaj7 | Em7* | A7*"), to, key)
    assert symbols(wide) == "Dm7 G7 | Cmaj7 | Am7* | D7*"
    assert symbols(lead_to(wide, to, key, "dominant")) == "Dm7 G7 | Cmaj7 | D7* | D7*"
    assert symbols(lead_to(chart("Dm7 G7 | Cmaj7 _ _ A7*"), to, key, "two-five")) == (
        "Dm7 G7 | Cmaj7 D7*"
    )


@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("Dm7 | Em7* _ _ A7*", [4, 3, 1]),
        ("Dm7 | Cmaj7 Em7* _ A7*", [4, 1, 2, 1]),
        ("Dm7 | Cmaj7 _ _ Em7* _ _ _ A7*", [4, 1.5, 2, 0.5]),  # a push to the next one
        ("Dm7 | Cmaj7 _ _ _ _ _ Em7* A7*", [4, 3, 0.5, 0.5]),
        ("Dm7 | Cmaj7 _ _ A7* _ _ _ _", [4, 1.5, 1.5, 1]),  # one that two take the place of
    ],
)
def test_a_two_five_keeps_the_rhythm_of_the_one_it_replaces(text: str, held: list[float]) -> None:
    """In each key of a round its chords change where the phrase's own do; else on a beat."""
    led = lead_to(chart(text), sounding("Gm7"), parse_key("F"), "two-five")
    assert symbols(led).endswith("Am7* D7*")
    assert lengths(led) == held


def test_leading_makes_room_where_there_is_no_turnaround() -> None:
    """As a proposal would, even after a dominant that led back to the first chord."""
    led = lead_to(chart("Cmaj7 | Dm7 G7"), sounding("Fmaj7"), parse_key("F"))
    assert symbols(led) == "Cmaj7 | Dm7 G7 C7*"
    assert lengths(led) == [4, 2, 1, 1]


names = st.builds(Name, st.sampled_from(LETTERS), st.integers(-1, 1))
firsts = st.builds(
    Chord, names, st.sampled_from(["major-seventh", "minor-seventh", "half-diminished"])
)


@settings(max_examples=150)
@given(
    to=firsts,
    key=st.sampled_from([*MAJOR, *MINOR]),
    style=st.sampled_from(["dominant", "two-five", "substitute"]),
    text=st.sampled_from(["Cmaj7", "Cmaj7 Am7", "Cmaj7 _ Am7 Dm7", "Cmaj7 | NC"]),
    meter=st.sampled_from([Meter(4, 4), Meter(12, 8)]),
)
def test_what_is_added_can_be_taken_away(
    to: Chord, key: Key, style: Style, text: str, meter: Meter
) -> None:
    """A law: taking the turnaround off gives the chart before it, every bar is full, and
    whatever the next chord's spelling the way there is written as players write it."""
    before = chart(text, meter)
    led = lead_to(before, to, key, style)
    assert taken_off(led) == before
    for bar in led.bars:
        ends = [span.start + span.length for span in bar.spans]
        assert [span.start for span in bar.spans] == [0, *ends[:-1]]
        assert ends[-1] == meter.bar
    marked = [span.chord for _, span in led.spans() if span.turnaround]
    assert all(each and is_written(each.root) for each in marked)
