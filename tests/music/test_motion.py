"""How notes move: enclosures, passing and approach notes, arpeggios and runs, rule by rule."""

from __future__ import annotations

import pytest

from drillbox.music.analysis.roles import Role
from drillbox.music.analysis.whole import Analysis, analyse, role_text
from tests.rows import every_row

from .worked import phrase


def analysed(chart: str, line: str, key: str = "C") -> Analysis:
    """Notes given as one pitch per eighth from beat 1; - is a rest."""
    places = [
        f"{bar}.{beat}{part}" for bar in (1, 2) for beat in (1, 2, 3, 4) for part in ("", "&")
    ]
    struck = [
        f"{at} {pitch} 1/2" for at, pitch in zip(places, line.split(), strict=False) if pitch != "-"
    ]
    return analyse(phrase(chart, ", ".join(struck), key=key))


def around(line: str, chart: str = "| Cmaj7 |") -> list[tuple[tuple[int, ...], int, bool]]:
    return [(e.notes, e.landing, e.chromatic) for e in analysed(chart, line).enclosures]


@every_row(
    ("line", "expected", "why"),
    [
        ("G4 A4 F4 D4 E4", [((2, 3), 4, False)], "upper and lower neighbour, both of the scale"),
        ("G4 A4 D4 F4 E4", [((2, 3), 4, False)], "lower first"),
        ("G4 A4 F4 D#4 E4", [((2, 3), 4, True)], "the lower a semitone out of the scale"),
        ("G4 F4 D4 D#4 E4", [((1, 2, 3), 4, True)], "three notes, two from below"),
        ("A4 F#4 F4 D#4 E4", [((1, 2, 3), 4, True)], "three notes, two from above"),
        ("F#4 F4 D4 D#4 E4", [((0, 1, 2, 3), 4, True)], "four notes, two from either side"),
        ("A4 G4 D4 D#4 E4", [], "from one side only"),
        ("G4 D4 F4 E4 C4", [((1, 2), 3, False)], "off the pulse, no chord tone among them"),
        ("G4 A4 G4 D4 E4", [], "too wide above"),
        ("G4 B4 E4 C4 D4", [], "what they surround isn't a chord tone"),
        ("G4 F4 D4 F4 E4", [((2, 3), 4, False)], "an F that comes no nearer isn't counted"),
        ("- C4 G4 B4 A4", [], "what they surround isn't a chord tone, though on a pulse"),
    ],
)
def test_neighbours_from_both_sides_enclose(
    line: str, expected: list[tuple[tuple[int, ...], int, bool]], why: str
) -> None:
    """Trade fact: upper and lower neighbours enclose; two to four notes, landing on a pulse."""
    assert around(line) == expected, why


def test_every_pair_of_neighbours_encloses_a_chord_tone() -> None:
    """A semitone or a whole tone above and below E, in either order: eight ways, all enclosures."""
    for above in ("F4", "F#4"):
        for below in ("D4", "D#4"):
            for pair in ((above, below), (below, above)):
                (found,) = around(f"C5 A4 {pair[0]} {pair[1]} E4")
                assert found == ((2, 3), 4, {above, below} != {"F4", "D4"})


def test_a_held_note_does_not_enclose() -> None:
    """A half note leads no further: the E over Cmaj7 isn't part of what surrounds the next F.

    A quarter in a line of eighths is.
    """
    bars = "1.1 F5 1/2, 1.1& E5 1/2, 1.2 D5 1/2, 1.2& C5 1/2, 1.3 B4 1/2, 1.3& D5 1/2"
    close = "2.1 G5 1/2, 2.1& Ab5 1/2, 2.2 F#5 1/2, 2.2& G5 1/2, 2.3 E5 2"
    found = analyse(phrase("| Dm7 G7 | Cmaj7 |", f"{bars}, 1.4 F5 1/2, 1.4& A5 1/2, {close}"))
    assert [(each.notes, each.landing) for each in found.enclosures] == [((9, 10), 11)]
    quarters = "1.1 G4 1/2, 1.1& A4 1/2, 1.2 C5 1/2, 1.2& G4 1/2, 1.3 F4 1, 1.4 D4 1, 2.1 E4 2"
    found = analyse(phrase("| G7 | Cmaj7 |", quarters))
    assert [(each.notes, each.landing) for each in found.enclosures] == [((4, 5), 6)]


def test_an_arpeggios_own_steps_do_not_enclose() -> None:
    """F A C E rising over Dm7 and falling to D: no enclosure; C E alone around it: one."""
    assert around("- F4 A4 C5 E5 - D5", "| Dm7 |") == []
    assert around("F4 A4 C5 E5 D5 - -", "| Dm7 |") == []
    assert around("F4 G4 C5 E5 D5", "| Dm7 |") == [((2, 3), 4, False)]


def test_a_target_lands_and_does_not_enclose() -> None:
    """F, marked over the end of G7, isn't part of what closes in on E."""
    marked = phrase("| G7 | Cmaj7 |", "1.4 F4! 1/2, 1.4& D4 1/2, 2.1 E4! 1")
    assert analyse(marked).enclosures == ()
    plain = phrase("| G7 | Cmaj7 |", "1.4 F4 1/2, 1.4& D4 1/2, 2.1 E4! 1")
    assert [each.notes for each in analyse(plain).enclosures] == [(0, 1)]


def said(chart: str, line: str, index: int, key: str = "C") -> str:
    return role_text(analysed(chart, line, key), index)


@every_row(
    ("line", "index", "expected", "why"),
    [
        ("C4 D4 E4", 1, "diatonic passing", "between 1 and 3"),
        ("E4 D4 C4", 1, "diatonic passing", "downward"),
        ("- C4 D4 E4", 1, "diatonic passing", "on the pulse too"),
        ("C4 D4 D#4 E4", 1, "diatonic passing, scale run", "two fill the way: the first"),
        ("C4 D4 D#4 E4", 2, "chromatic passing, scale run", "and the second"),
        ("E4 F4 E4", 1, "diatonic approach from above", "it turns back"),
        ("A4 F4 E4", 1, "diatonic approach from above", "the A isn't a chord tone"),
        ("C5 D#4 E4", 1, "chromatic approach from below", "by leap, out of the scale"),
        ("E4 B4 Bb4", 1, "guide tone", "a chord tone neither passes nor approaches"),
        (
            "G4 - D4 D#4 E4",
            1,
            "diatonic approach from below",
            "on the pulse, a semitone further out",
        ),
        ("C5 - F#4 F4 E4", 1, "chromatic approach from above", "likewise from above"),
        ("C5 - F4 E4 -", 1, "tension", "a scale tone on the pulse is heard as itself"),
        ("G4 - D#4 E4 -", 1, "chromatic approach from below", "a chromatic one isn't"),
        ("G4 A4 C4 E4", 1, "tension", "it leaps away"),
        ("G4 Ab4 C4 E4", 1, "outside", "it leaps away, out of the scale"),
        ("G4 D4 - - E4", 1, "tension", "a beat of silence follows"),
    ],
)
def test_notes_between_chord_tones_pass_or_approach(
    line: str, index: int, expected: str, why: str
) -> None:
    """Over Cmaj7: what a note is by its beat, its direction and where it resolves."""
    assert said("| Cmaj7 |", line, index) == expected, why


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("D4 Ab4 B3 D4", "tension"),  # b9
        ("D4 A#4 D4 F4", "tension"),  # #9
        ("G4 C#4 G4 D4", "tension"),  # #11
        ("B3 Eb4 G4 B4", "tension"),  # b13
        ("D4 F#4 D4 B3", "outside"),  # a major seventh
    ],
)
def test_a_dominants_altered_degrees_are_tensions(line: str, expected: str) -> None:
    """Over a plain G7: b9 #9 #11 b13 are tensions of a dominant (common practice)."""
    assert said("| G7 |", line, 1).split(",")[0] == expected


def test_an_approach_may_cross_the_change() -> None:
    """Bb over the end of Dm7 leads to the B of G7 from a semitone below."""
    assert said("| Dm7 | G7 |", "- - - - - - D4 Bb3 B3", 1) == "chromatic approach from below"


def test_a_long_note_rests() -> None:
    """A half-note D between C and E doesn't pass: it's the ninth, a tension."""
    found = analyse(phrase("| Cmaj7 |", "1.1 C4 1/2, 1.1& D4 2, 1.3& E4 1/2"))
    assert found.notes[1].roles == (Role.TENSION,)


def test_quarters_pass_in_a_line_of_quarters() -> None:
    """Where the quarter is the subdivision a quarter moves."""
    found = analyse(phrase("| Cmaj7 |", "1.1 C4 1, 1.2 D4 1, 1.3 E4 1"))
    assert found.notes[1].roles == (Role.PASSING,)


def flagged(role: Role, chart: str, line: str) -> set[int]:
    notes = analysed(chart, line).notes
    return {index for index, note in enumerate(notes) if role in note.roles}


@pytest.mark.parametrize(
    ("line", "expected", "why"),
    [
        ("C4 E4 G4 B4", {0, 1, 2, 3}, "thirds up the chord"),
        ("E4 G4 B4 D5", {0, 1, 2, 3}, "on through the ninth"),
        ("G4 E4 C4", {0, 1, 2}, "downward"),
        ("G3 C4 E4", {0, 1, 2}, "a fourth between chord tones"),
        ("C4 E4", set(), "two are too few"),
        ("C4 E4 C4 E4", set(), "no one direction"),
        ("D4 G4 C5 F5", set(), "fourths"),
        ("C4 E4 - - G4 B4", set(), "parted by silence"),
        ("B4 G4 E4 C4 E4 G4", {0, 1, 2, 3, 4, 5}, "down and up share the C"),
    ],
)
def test_arpeggios_go_by_thirds_in_one_direction(line: str, expected: set[int], why: str) -> None:
    """Three notes or more over Cmaj7."""
    assert flagged(Role.ARPEGGIO, "| Cmaj7 |", line) == expected, why


def test_an_arpeggio_stays_with_one_chord() -> None:
    """A C over Dm7 and then E G over C: two notes each."""
    assert flagged(Role.ARPEGGIO, "| Dm7 | Cmaj7 |", "- - - - - - A4 C5 E5 G5") == set()


@pytest.mark.parametrize(
    ("line", "expected", "why"),
    [
        ("C4 D4 E4 F4", {0, 1, 2, 3}, "four by step"),
        ("C5 B4 Bb4 A4 G4", {0, 1, 2, 3, 4}, "semitones and whole tones"),
        ("C4 D4 E4", set(), "three are too few"),
        ("C4 C#4 D4 D#4", set(), "semitones only"),
        ("C4 D4 E4 D4 C4 B3", {2, 3, 4, 5}, "the way down is the longer"),
        ("C4 D4 F4 G4", set(), "a third breaks it"),
    ],
)
def test_scale_runs_go_by_step_in_one_direction(line: str, expected: set[int], why: str) -> None:
    """Four notes or more over Cmaj7."""
    assert flagged(Role.SCALE_RUN, "| Cmaj7 |", line) == expected, why


def test_a_scale_run_may_cross_a_change() -> None:
    """D C over Dm7, B A over G7."""
    assert flagged(Role.SCALE_RUN, "| Dm7 | G7 |", "- - - - - - D5 C5 B4 A4") == {0, 1, 2, 3}
