"""The ladder of three hints, as bars of degrees and names."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.analysis.hints import Level, hint, hint_title
from drillbox.music.analysis.whole import analyse
from drillbox.music.keys import Key, parse_key, twelve
from drillbox.music.moving.transposition import phrase_to
from drillbox.music.phrases import Phrase
from tests.rows import every_row

from .test_analysis import DOUBLE_TIME, LINES, MAJOR, SUBSTITUTE
from .worked import Worked, phrase

LEVELS: tuple[Level, ...] = (1, 2, 3)


def texts(
    read: Phrase, level: Level, *, ascii: bool = True
) -> list[tuple[int, list[tuple[str, str]]]]:
    bars = hint(level, read.chart, read.line, analyse(read), ascii=ascii)
    return [(bar.number, [(c.chord, " ".join(c.texts)) for c in bar.cells]) for bar in bars]


def test_the_first_hint_shows_the_targets_as_degrees() -> None:
    """Under each chord, its target's degree and nothing else."""
    assert texts(MAJOR.phrase, 1) == [
        (1, [("Dm7", "b3")]),
        (2, [("G7", "3")]),
        (3, [("Cmaj7", "3")]),
        (4, [("(A7)", "3")]),
    ]


def test_the_second_hint_shows_all_degrees() -> None:
    """Every note of the line under the chord that it's heard with, in order."""
    assert texts(MAJOR.phrase, 2) == [
        (1, [("Dm7", "b3 5 b7 9 1 b7 5 b7")]),
        (2, [("G7", "3 5 b7 b9 1 b7 5 b13")]),
        (3, [("Cmaj7", "3 9 1 7 5")]),
        (4, [("(A7)", "3 5 b7 b13 5")]),
    ]


def test_the_third_hint_shows_the_names_in_this_key() -> None:
    """In Eb the same line has other names; the analysis is the one made in C."""
    moved = phrase_to(MAJOR.phrase, parse_key("Eb"))
    bars = hint(3, moved.chart, moved.line, analyse(MAJOR.phrase))
    assert [(c.chord, " ".join(c.texts)) for bar in bars for c in bar.cells] == [
        ("Fm7", "Ab C Eb G F Eb C Eb"),
        ("Bb7", "D F Ab Cb Bb Ab F F#"),
        ("Ebmaj7", "G F Eb D Bb"),
        ("(C7)", "E G Bb Ab G"),
    ]


def test_a_pickup_has_its_own_bar_and_an_early_arrival_its_chord() -> None:
    """D B stand before bar 1 and lead to the Am7; C, early, under the Ab7 that it belongs to."""
    assert texts(SUBSTITUTE.phrase, 2) == [
        (0, [("Am7", "11 9")]),
        (1, [("Am7", "b3 5 b7 13 5 11 3")]),
        (2, [("Ab7", "3 5 b7 13 #11 3 b9")]),
        (3, [("Gmaj7", "3 5 7")]),
        (4, [("(E7)", "")]),
    ]


def test_a_note_early_for_the_next_pass_stands_first_under_the_first_chord() -> None:
    """F tied over the loop's end belongs to the Dm7 of bar 1."""
    read = phrase("| Dm7 | G7 |", "1.2 A4 1, 2.1 B4 1, 2.4& F4 1")
    assert texts(read, 2) == [(1, [("Dm7", "b3 5")]), (2, [("G7", "3")])]


def test_chords_that_share_a_bar_share_it_in_the_hint() -> None:
    """Gm7 and C7 stand in one bar, on beats 1 and 3."""
    bars = hint(1, DOUBLE_TIME.phrase.chart, DOUBLE_TIME.phrase.line, analyse(DOUBLE_TIME.phrase))
    assert [(cell.chord, cell.beat, cell.texts) for cell in bars[0].cells] == [
        ("Gm7", Fraction(1), ("b3",)),
        ("C7", Fraction(3), ("3",)),
    ]


def test_a_typed_chart_has_hints_about_its_chords() -> None:
    """Without a line: guide tones, then chord tones, then their names; nothing over no chord."""
    typed = phrase("| Dm7 G7alt | NC |")
    assert texts(typed, 1) == [(1, [("Dm7", "b3 b7"), ("G7alt", "3 b7")]), (2, [("N.C.", "")])]
    assert texts(typed, 2)[0] == (1, [("Dm7", "1 b3 5 b7"), ("G7alt", "1 3 b5 #5 b7 b9 #9")])
    assert texts(typed, 3)[0] == (1, [("Dm7", "D F A C"), ("G7alt", "G B Db D# F Ab A#")])


@every_row(
    ("symbol", "degrees", "names"),
    [
        ("C13", "1 3 5 b7 9 13", "C E G Bb D A"),
        ("Cmaj13", "1 3 5 7 9 13", "C E G B D A"),
        ("C13b9/Bb", "1 3 5 b7 b9 13", "C E G Bb Db A"),
        ("C13#11", "1 3 5 b7 9 #11 13", "C E G Bb D F# A"),
        ("Cm13", "1 b3 5 b7 9 11 13", "C Eb G Bb D F A"),
        ("C9(add11)", "1 3 5 b7 9 11", "C E G Bb D F"),
        ("F/G", "1 4 5 b7 9", "G C D F A"),
        ("Dm7/G", "1 4 5 b7 9", "G C D F A"),
        ("C/E", "1 3 5", "C E G"),
        # No double sharp or flat but in a third, a fifth or a seventh that is not altered.
        ("Ebdim7", "1 b3 b5 bb7", "Eb Gb A C"),
        ("Gdim7", "1 b3 b5 bb7", "G Bb Db E"),
        ("D#7alt", "1 3 b5 #5 b7 b9 #9", "D# F## A B C# E F#"),
        ("Db7b9", "1 3 5 b7 b9", "Db F Ab Cb D"),
        ("Abm7b5", "1 b3 b5 b7", "Ab Cb Ebb Gb"),
    ],
)
def test_the_tones_are_those_that_are_played_and_their_names_stand_in_the_same_order(
    symbol: str, degrees: str, names: str
) -> None:
    """A 13th without the 11 that MusicXML gives it over its major third; F/G as G9sus4."""
    typed = phrase(f"| {symbol} |")
    assert texts(typed, 2) == [(1, [(symbol, degrees)])]
    assert texts(typed, 3) == [(1, [(symbol, names)])]


def test_a_note_over_no_chord_has_a_dash_for_its_degree() -> None:
    """Its name is known all the same."""
    read = phrase("| NC |", "1.1 C4 1")
    assert texts(read, 2) == [(1, [("N.C.", "-")])]
    assert texts(read, 3) == [(1, [("N.C.", "C")])]


def test_a_hint_has_unicode_where_asked() -> None:
    """Flats and sharps become signs in symbols, degrees and names."""
    assert texts(SUBSTITUTE.phrase, 2, ascii=False)[1:3] == [
        (1, [("Am7", "♭3 5 ♭7 13 5 11 3")]),
        (2, [("A♭7", "3 5 ♭7 13 ♯11 3 ♭9")]),
    ]
    assert texts(SUBSTITUTE.phrase, 3, ascii=False)[2][1][0][1].startswith("C E♭ G♭ ")


@pytest.mark.parametrize("each", LINES.values(), ids=LINES)
@pytest.mark.parametrize("level", LEVELS)
def test_ascii_hints_hold_ascii_only(each: Worked, level: Level) -> None:
    """Every worked line at every level: no sign beyond ASCII in a symbol, degree or name."""
    cells = [cell for _, bar in texts(each.phrase, level) for cell in bar]
    assert all(chord.isascii() and said.isascii() for chord, said in cells)


@given(st.sampled_from(list(LINES)), st.sampled_from(twelve("major")), st.sampled_from(LEVELS))
@settings(max_examples=30)
def test_degree_hints_say_the_same_in_every_key(name: str, key: Key, level: Level) -> None:
    """Law: levels 1 and 2 don't change with the key, level 3 names as many notes as level 2."""
    read = LINES[name].phrase
    keys = twelve(read.key.mode)
    moved = phrase_to(read, keys[twelve("major").index(key)])
    analysis = analyse(read)

    def said(of: Phrase, at: Level) -> list[tuple[str, ...]]:
        return [c.texts for bar in hint(at, of.chart, of.line, analysis) for c in bar.cells]

    if level < 3:
        assert said(moved, level) == said(read, level)
    else:
        counts = [[len(each) for each in said(moved, at)] for at in (2, 3)]
        assert counts[0] == counts[1]


def test_titles_say_what_is_shown() -> None:
    """A line and a bare chart have ladders of their own."""
    assert [hint_title(level, has_line=True) for level in LEVELS] == [
        "targets as degrees",
        "all degrees",
        "note names",
    ]
    assert hint_title(1, has_line=False) == "guide tones as degrees"
