"""Bars taken out of a tune as a phrase of their own."""

from __future__ import annotations

from fractions import Fraction

import pytest

from drillbox.errors import BadInput
from drillbox.music.keys import parse_key
from drillbox.music.phrases import (
    LineNote,
    Phrase,
    check_line,
    check_title,
    excerpt,
    parse_bars,
)
from drillbox.music.pitch import parse_pitch
from tests.music.shorthand import chart, symbols

CHORDS = "Dm7 G7 | Cmaj7 | Fm7 Bb7 | Cmaj7 _ _ A7*"


def tune(*notes: tuple[str, str, str]) -> Phrase:
    """Return an invented tune of four bars with these notes: onset, length, pitch."""
    line = tuple(LineNote(Fraction(at), Fraction(n), parse_pitch(name)) for at, n, name in notes)
    return Phrase("Wet gravel", parse_key("C"), 120, chart(CHORDS), line)


def line(phrase: Phrase) -> str:
    """Return onset, length and pitch of each note."""
    return ", ".join(f"{each.onset} {each.length} {each.pitch.text()}" for each in phrase.line)


@pytest.mark.parametrize(
    ("first", "last", "chords", "notes"),
    [
        (1, 4, "Dm7 G7 | Cmaj7 | Fm7 Bb7 | Cmaj7 A7*",
         "-1 1 E4, 0 2 F4, 7/2 1 B4, 9/2 3 C5, 15/2 17/2 Ab4"),
        (1, 1, "Dm7 G7", "-1 1 E4, 0 2 F4, 7/2 1/2 B4"),
        (2, 2, "Cmaj7", "-1/2 1 B4, 1/2 3 C5, 7/2 1/2 Ab4"),
        (2, 3, "Cmaj7 | Fm7 Bb7", "-1/2 1 B4, 1/2 3 C5, 7/2 9/2 Ab4"),
        (3, 3, "Fm7 Bb7", "-1/2 9/2 Ab4"),
        (4, 4, "Cmaj7 A7*", "0 4 Ab4"),
        (3, 4, "Fm7 Bb7 | Cmaj7 A7*", "-1/2 17/2 Ab4"),
    ],
)  # fmt: skip
def test_bars_bring_their_chords_and_notes(first: int, last: int, chords: str, notes: str) -> None:
    """What sounds over the first bar line comes as a pickup; what sounds beyond is cut there.

    Worked by hand: the last note is held from a half beat before bar 3 to the end.
    """
    held = ("15/2", "17/2", "Ab4")
    whole = tune(("-1", "1", "E4"), ("0", "2", "F4"), ("7/2", "1", "B4"), ("9/2", "3", "C5"), held)
    taken = excerpt(whole, first, last)
    assert symbols(taken.chart) == chords
    assert line(taken) == notes


def test_a_title_is_kept_whole_or_refused() -> None:
    """Bytes that can't be read as UTF-8 reach Python as surrogates: none is dropped in silence.

    Blanks and control characters of a name that was pasted may go.
    """
    assert check_title("  café\t noir\x07 ") == "café noir"
    with pytest.raises(BadInput, match="isn't UTF-8"):
        check_title(b"caf\xe9 noir".decode(errors="surrogateescape"))


@pytest.mark.parametrize(
    ("onset", "length", "wrong"),
    [("16", "0", ""), ("16", "1", "over the chart"), ("17", "0", "over the chart"),
     ("14", "0", "in order"), ("15", "33", "length")],
)  # fmt: skip
def test_a_line_lies_over_its_chart(onset: str, length: str, wrong: str) -> None:
    """Note after note; only a grace note may stand at its very end, as files once brought it."""
    written = tune(("15", "1", "C5"), (onset, length, "D5"))
    if not wrong:
        check_line(written.line, written.chart)
        return
    with pytest.raises(ValueError, match=wrong):
        check_line(written.line, written.chart)


def test_a_turnaround_stays_at_the_end_of_the_tune() -> None:
    """Taken without the tune's last bar it would lead nowhere, so there is none."""
    assert not any(span.turnaround for _, span in excerpt(tune(), 1, 3).chart.spans())


@pytest.mark.parametrize(
    ("first", "last", "title"), [(2, 3, "Wet gravel, bars 2-3"), (2, 2, "Wet gravel, bar 2")]
)
def test_the_title_says_which_bars(first: int, last: int, title: str) -> None:
    """So that several phrases of one tune have titles of their own."""
    assert excerpt(tune(), first, last).title == title


def test_bars_beyond_the_tune_are_refused_with_how_many_there_are() -> None:
    """Nothing is taken in their place."""
    with pytest.raises(BadInput, match="has 4 bars"):
        excerpt(tune(), 3, 5)


@pytest.mark.parametrize(
    ("text", "bars"), [("5-8", (5, 8)), ("5", (5, 5)), (" 5 - 8 ", (5, 8)), ("5–8", (5, 8))]
)
def test_a_range_of_bars_is_read(text: str, bars: tuple[int, int]) -> None:
    """One bar, or the first and the last with a hyphen or a dash."""
    assert parse_bars(text) == bars


@pytest.mark.parametrize("text", ["", "0", "8-5", "0-2", "a-b", "1-", "-3", "1-2-3", "99999"])
def test_what_is_no_range_of_bars_is_refused(text: str) -> None:
    """It says how to write one."""
    with pytest.raises(BadInput, match="isn't a range of bars") as refused:
        parse_bars(text)
    assert "--bars 5-8" in refused.value.remedy
