"""Which notes of a line rub over other chords: by hand, in degrees."""

from __future__ import annotations

import pytest

from drillbox.music.fits import Kind, Phrases
from drillbox.music.fits.clashes import leanings, sound_of
from drillbox.music.fits.shapes import shape_of
from drillbox.music.keys import parse_key
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.tunes import Tune
from tests.music.fits.worked import OVER_TURNAROUND, PHRASES, phrase
from tests.rows import every_row

COMMON = parse_meter("4/4")


def clashes(chart: str, title: str = "long", key: str = "C") -> list[tuple[str, str, str]]:
    """Return onset, degree at home and degree there of what rubs at the first bar of a chart."""
    tune = Tune("x", parse_key(key), 120, parse_chart(chart, COMMON))
    fits = Phrases((i, each) for i, each in enumerate(PHRASES) if each.title == title).fits(tune)
    return [(str(each.onset), each.was, each.becomes) for each in fits[0].clashes]


@pytest.mark.parametrize(
    ("chart", "expected"),
    [
        ("Dm7 | G7 | Cmaj7 | %", []),
        # 5 9 b3 b7 of Dm7 are A E F C: A is the natural fifth of Dm7b5.
        ("Dm7b5 | G7 | Cmaj7 | %", [("0", "5", "5")]),
        # 3 b7 1 13 of G7 are B F G E: over Db7 b7 3 #11 #9, an altered sound.
        ("Dm7 | Db7 | Cmaj7 | %", []),
        # C, the b7 of Dm7, is the fourth over G7.
        ("G7 | % | Cmaj7 | %", [("3", "b7", "11")]),
        # B is the third under a suspended fourth.
        ("Dm7 | G7sus4 | Cmaj7 | %", [("4", "3", "3")]),
        # So it is where that is written as another chord over its bass; E, its 13, doesn't rub.
        ("Dm7 | F/G | Cmaj7 | %", [("4", "3", "3")]),
        ("Dm7 | Fmaj7/G | Cmaj7 | %", [("4", "3", "3")]),
        ("Dm7 | Dm7/G | Cmaj7 | %", [("4", "3", "3")]),
        # 13 under a symbol that says b13.
        ("Dm7 | G7(b13) | Cmaj7 | %", [("7", "13", "13")]),
        # A and E are third and major seventh of Fm7; over Bb7 B F G E are b9 5 13 #11.
        ("Fm7 | Bb7 | Cmaj7 | %", [("0", "5", "3"), ("1", "9", "7")]),
        # A over Dm7b5 and E, the third of C, over Cm.
        ("Dm7b5 | G7 | Cm6 | %", [("0", "5", "5"), ("8", "3", "3")]),
    ],
)  # fmt: skip
def test_notes_that_rub_are_named_by_degree(chart: str, expected: list):
    """Only notes on the beats count, and only over chords that aren't the phrase's own."""
    assert clashes(chart) == expected


@pytest.mark.parametrize(
    ("chart", "expected"),
    [
        ("Dm7b5 | G7 | Cm6 | %", [("0", "b5"), ("8", "b3")]),
        ("G7 | % | Cmaj7 | %", [("3", "3")]),  # the fourth to the third, the nearest chord tone
        ("Dm7 | G7sus4 | Cmaj7 | %", [("4", "4")]),
        ("Dm7 | G7(b13) | Cmaj7 | %", [("7", "b13")]),
        ("Fm7 | Bb7 | Cmaj7 | %", [("0", "b3"), ("1", "b7")]),
    ],
)
def test_what_rubs_is_told_with_the_chords_own_degree_beside_it(chart: str, expected: list):
    """And when it is heard in the place."""
    tune = Tune("x", parse_key("C"), 120, parse_chart(chart, COMMON))
    fits = Phrases((i, each) for i, each in enumerate(PHRASES) if each.title == "long").fits(tune)
    assert [(str(each.at), each.better) for each in fits[0].clashes] == expected


@pytest.mark.parametrize(
    ("home", "expected"),
    [
        # E flat, the b3 of Cm6, is a sharp ninth over a major chord, and its third is meant.
        ("Cmaj7", ("b3", "#9", "3")),
        ("C69", ("b3", "#9", "3")),
        ("Cmaj9", ("b3", "#9", "3")),
        ("Cmaj13", ("b3", "#9", "3")),
        ("C/E", ("b3", "#9", "3")),
    ],
)
def test_a_degree_is_put_right_to_what_it_was_at_home(home: str, expected: tuple):
    """A third becomes the other third, whatever ninth the tune's symbol names beside it."""
    minor = phrase("minor", "Cm", "Dm7b5 | G7 | Cm6 | %", "F4:4 D4:4 B3:4 D4:4 Eb4:8 C4:8")
    tune = Tune("x", parse_key("C"), 120, parse_chart(f"Dm7 | G7 | {home} | %", COMMON))
    (fit,) = Phrases([(0, minor)]).fits(tune)
    assert [(each.was, each.becomes, each.better) for each in fit.clashes] == [expected]


def test_a_line_that_rubs_more_than_not_is_not_offered():
    """A line that leans on C again and again, the fourth of G7, has no place over V alone."""
    over = phrase(
        "stuck", "C", "Dm7 | G7 | Cmaj7 | %", "C4:2 F4:2 C4:2 C4:2 C4:2 C4:2 C4:2 C4:2 E4:8"
    )
    tune = Tune("x", parse_key("C"), 120, parse_chart("G7 | % | Cmaj7 | %", COMMON))
    assert Phrases([(0, over)]).fits(tune) == []


@pytest.mark.parametrize("symbol", ["F/G", "Dm7/G", "G9sus4"])
def test_a_suspended_dominant_is_the_same_however_it_is_written(symbol: str):
    """A phrase over F/G lies exactly over G9sus4 and Dm7/G."""
    hung = phrase("hung", "C", "F/G | Cmaj7", "E4:4 C4:4 E4:8")
    tune = Tune("x", parse_key("C"), 120, parse_chart(f"{symbol} | Cmaj7", COMMON))
    assert [fit.kind for fit in Phrases([(0, hung)]).fits(tune)] == [Kind.EXACT]


def test_what_rubs_at_home_was_meant_so():
    """A fourth leant on over G7 at home is nothing new over G7(b9)."""
    odd = phrase("odd", "C", "G7 | Cmaj7", "C4:2 F4:2 G4:2 F4:2 E4:8")
    tune = Tune("x", parse_key("C"), 120, parse_chart("G7(b9) | Cmaj7", COMMON))
    (fit,) = Phrases([(0, odd)]).fits(tune)
    assert (fit.kind, fit.clashes) == (Kind.TENSIONS, ())


def test_an_early_arrival_is_heard_with_its_chord():
    """A note on 4& held over the bar line leans on the chord that comes."""
    early = phrase("early", "C", "G7 | Cmaj7", "G4:7 E4:5 D4:4")
    leant = [
        (str(each.at), each.note.pitch.text(), each.over)
        for each in leanings(early.line, shape_of(early.chart.bars, COMMON), 1)
    ]
    assert leant == [
        ("0", "G4", parse_symbol("G7")),
        ("4", "E4", parse_symbol("Cmaj7")),
        ("6", "D4", parse_symbol("Cmaj7")),
    ]


@every_row(
    ("symbol", "rubs"),
    [
        ("Cmaj7", {1, 3, 5, 8, 10}),
        ("C7", {5, 11}),
        ("C7b9", {2, 5, 11}),
        ("C9", {1, 3, 5, 11}),
        ("C13", {1, 3, 5, 8, 11}),  # a 13 has an 11th by its kind, which players leave out
        ("Cmaj13", {1, 3, 5, 8, 10}),
        ("C13#11", {1, 3, 5, 8, 11}),
        ("C9(add11)", {1, 3, 11}),  # here it is asked for
        ("Cm13", {1, 4, 6, 8, 11}),
        ("C7sus4", {4, 11}),
        ("Cm7", {1, 4, 6, 8, 11}),
        ("Cm(maj7)", {1, 4, 6, 8, 10}),
    ],
)
def test_what_rubs_over_a_chord(symbol: str, rubs: set[int]):
    """A semitone above a chord tone, and what contradicts third, seventh or a named tension."""
    chord = parse_symbol(symbol)
    assert chord is not None
    assert sound_of(chord).rubs == rubs


@pytest.mark.parametrize(
    ("chart", "found"),
    [
        ("Dm7 G7 | Cmaj7 | % | %", [(Kind.EXACT, [])]),  # 6 and 5
        ("Dm7 G7 | Cmaj7 A7 | % | %", [(Kind.EXACT, [])]),  # as it is written
        ("Dm7 G7 | Cmaj7 Bmaj7 | % | %", []),  # A and G: b7 and b13 of a major seventh
        ("Cmaj7 Dm7 | G7 Cmaj7 | Abm7 Db7 | %", []),  # A over Ab minor, G over Db7: b9 and #11
        # G is the fourth over Dm7, A its fifth; over G7 A and G are the 9 and the root.
        ("Dm7 G7 | Cmaj7 Dm7 | G7 | %", [(Kind.EXACT, [])]),
        # A is the fourth over E7, G its sharp ninth: one rubs, one doesn't.
        ("Dm7 G7 | Cmaj7 E7 | % | %", [(Kind.EXACT, [("6", "1", "11")])]),
        # Not at half its pace, where A and G come over Bmaj7; over V alone they don't.
        ("Dm7 | G7 | Cmaj7 | Bmaj7", [(Kind.FIVE, [])]),
        ("Dm7 | G7 | Cmaj7 | %", [(Kind.HALF_TIME, [])]),
    ],
)
def test_what_a_line_plays_over_its_turnaround_is_heard_with_the_tune(chart: str, found: list):
    """By the same rule as the rest: it rubs, or more of it rubs than doesn't."""
    tune = Tune("x", parse_key("C"), 120, parse_chart(chart, COMMON))
    fits = Phrases([(0, OVER_TURNAROUND)]).fits(tune)
    assert [
        (fit.kind, [(str(each.onset), each.was, each.becomes) for each in fit.clashes])
        for fit in fits
    ] == found


def test_a_line_is_over_where_its_turnaround_is_played_out():
    """It lasts as long as it sounds, over the seam as well; a line that ends before doesn't."""
    tune = Tune("x", parse_key("C"), 120, parse_chart("Cmaj7 Fmaj7 | Fmaj7 Dm7 | G7 Cmaj7", COMMON))
    ends = phrase("ends", "C", "Dm7 G7 | Cmaj7 (A7)", "D4:4 G4:4 E4:4")
    for line, length, over in ((OVER_TURNAROUND, 8, True), (ends, 5, False)):
        (fit,) = Phrases([(0, line)]).fits(tune)
        assert (fit.start, fit.length, fit.over_seam) == (6, length, over)


def test_what_rubs_over_the_last_chord_held_on_is_named():
    """A turnaround's own note over a tune that stays where it is: the rest still fits exactly."""
    away = phrase("away", "C", "Dm7 G7 | Cmaj7 (A7)", "D4:4 G4:4 E4:4 C#4:4")
    tune = Tune("x", parse_key("C"), 120, parse_chart("Dm7 G7 | Cmaj7 | % | %", COMMON))
    (fit,) = Phrases([(0, away)]).fits(tune)
    assert fit.kind is Kind.EXACT
    assert [(str(each.onset), each.was, each.becomes) for each in fit.clashes] == [("6", "3", "b9")]


def test_every_kind_has_its_reason():
    """A rule without a reason isn't one that a player should be shown."""
    assert all(kind.reason and kind.words for kind in Kind)
