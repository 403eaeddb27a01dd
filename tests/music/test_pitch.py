"""Spelled pitch: names, intervals, octaves; checked against music21."""

from __future__ import annotations

import music21
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.music.pitch import (
    LETTERS,
    Interval,
    Name,
    Pitch,
    accidental,
    parse_name,
    parse_pitch,
)
from tests.rows import every_row

names = st.builds(Name, st.sampled_from(LETTERS), st.integers(-2, 2))
pitches = st.builds(Pitch, names, st.integers(0, 8))


@every_row(
    ("text", "letter", "alter"),
    [("C", "C", 0), ("Bb", "B", -1), ("B♭", "B", -1), ("F#", "F", 1), ("F♯", "F", 1),
     ("Gx", "G", 2), ("G##", "G", 2), ("G𝄪", "G", 2), ("Abb", "A", -2), ("A𝄫", "A", -2),
     ("A♭♭", "A", -2), ("G♯♯", "G", 2)],
)  # fmt: skip
def test_names_are_read(text: str, letter: str, alter: int) -> None:
    """Letters or signs, single or double."""
    assert parse_name(text) == Name(letter, alter)


@pytest.mark.parametrize("text", ["", "H", "c", "Cbbb", "Cb#", "C ", "4"])
def test_what_is_no_name_is_refused(text: str) -> None:
    """A note name is a capital letter and at most a double accidental."""
    with pytest.raises(ValueError, match="isn't a note name"):
        parse_name(text)


@pytest.mark.parametrize("text", ["", "C", "H4", "Cb", "4", "C4.5"])
def test_what_is_no_pitch_is_refused(text: str) -> None:
    """A pitch is a name and an octave."""
    with pytest.raises(ValueError, match="isn't a pitch"):
        parse_pitch(text)


@pytest.mark.parametrize(
    ("text", "midi"), [("C4", 60), ("A4", 69), ("B#3", 60), ("Cb4", 59), ("C-1", 0), ("G9", 127)]
)
def test_midi_numbers(text: str, midi: int) -> None:
    """The octave belongs to the letter: B#3 sounds as C4."""
    assert parse_pitch(text).midi == midi


def test_signs() -> None:
    """Both forms; beyond a double accidental the single sign is repeated."""
    assert [accidental(n) for n in (-3, -2, -1, 0, 1, 2, 3)] == [
        "bbb", "bb", "b", "", "#", "##", "###"
    ]  # fmt: skip
    assert [accidental(n, ascii=False) for n in (-2, -1, 0, 1, 2, 3)] == [
        "𝄫", "♭", "", "♯", "𝄪", "♯♯♯"
    ]  # fmt: skip


@given(pitch=pitches, unicode=st.booleans())
def test_print_and_read_is_the_identity(pitch: Pitch, unicode: bool) -> None:
    """A law, for names and pitches alike."""
    assert parse_pitch(pitch.text(ascii=not unicode)) == pitch
    assert parse_name(pitch.name.text(ascii=not unicode)) == pitch.name


@given(pitch=pitches, other=names)
def test_up_an_interval_reaches_the_other_name(pitch: Pitch, other: Name) -> None:
    """A law: the interval between two names leads from one to the other and back."""
    interval = pitch.name.interval_to(other)
    assert pitch.name.up(interval) == other
    assert pitch.up(interval).midi == pitch.midi + interval.semitones
    assert pitch.up(interval).up(-interval) == pitch
    assert 0 <= interval.steps <= 6


@given(pitch=pitches)
def test_intervals_add_up(pitch: Pitch) -> None:
    """A law: a third and a third are a fifth, spelled too."""
    third, minor_third = Interval(2, 4), Interval(2, 3)
    assert third + minor_third == Interval(4, 7)
    assert pitch.up(third).up(minor_third) == pitch.up(Interval(4, 7))


@every_row("named", ["m2", "M2", "m3", "M3", "P4", "A4", "d5", "P5", "m6", "M6",
                                   "m7", "M7", "P8", "M9", "-M2", "-P5", "-M6"])  # fmt: skip
def test_music21_spells_the_same(named: str) -> None:
    """music21 transposing by the interval's name gives the same spelling and octave."""
    theirs = music21.interval.Interval(named)
    steps = abs(theirs.generic.directed) - 1
    interval = Interval(steps * theirs.direction.value, int(theirs.semitones))
    for text in ("C4", "Bb3", "F#4", "Eb5", "B4", "Ab4"):
        moved = music21.pitch.Pitch(text.replace("b", "-")).transpose(theirs)
        ours = parse_pitch(text).up(interval)
        assert (ours.name.letter, ours.name.alter, ours.octave) == (
            moved.step, int(moved.alter), moved.octave
        )  # fmt: skip
