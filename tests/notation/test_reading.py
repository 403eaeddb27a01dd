"""Whole files: which format, how big, and several tunes of which one is wrong."""

from __future__ import annotations

import subprocess
import sys

import pytest

from drillbox.errors import BadInput
from drillbox.notation import MAX_BYTES, Limits, read_bytes
from tests.notation.pages import HEAD, problems, tune
from tests.notation.scores import harmony, note, read_part


def test_good_tunes_are_read_beside_a_bad_one() -> None:
    """Each tune has its own phrase or problems; the bad one doesn't spoil the others."""
    tunes = [HEAD.replace("Test", name) + music for name, music in
             [("A", '"C"C8|'), ("B", '"Cq"C8|'), ("C", '"C"C7|'), ("D", '"C"C8|')]]  # fmt: skip
    read = read_bytes("\n\n".join(tunes).encode(), "x.abc").tunes
    assert [each.title for each in read] == ["A", "B", "C", "D"]
    assert [each.phrase is not None for each in read] == [True, False, False, True]
    assert [len(each.problems) for each in read] == [0, 1, 1, 0]


def test_a_file_of_just_the_size_limit_is_read() -> None:
    """The limit is what is read at most, as its message says."""
    data = f'{HEAD}"C"C8|'.encode()
    assert read_bytes(data, "x.abc", limits=Limits(bytes=len(data))).tunes[0].phrase


def test_a_file_above_the_size_limit_is_refused_by_its_size() -> None:
    """Nothing of it is parsed."""
    with pytest.raises(BadInput, match=r"x\.abc is too big: 2,000,001 bytes, of which 2,000,000"):
        read_bytes(b"X" * (MAX_BYTES + 1), "x.abc")


@pytest.mark.parametrize(
    ("music", "limits", "problem"),
    [
        ('"C"' + "C8|" * 6, Limits(bars=5), "it is longer than 5 bars or 2000 notes"),
        ('"C"' + "C8|" * 6, Limits(bars=6), None),
        ('"C"' + "C4D4|" * 3, Limits(notes=5), "it has 3 bars and 6 notes; 128 and 5 are read"),
        ('"C"' + "C4D4|" * 3, Limits(notes=6), None),
        ('|:"C"' + "C8|" * 2 + "C8:|", Limits(bars=5), "it has 6 bars and 6 notes; 5 and 2000"),
        ('|:"C"' + "C8|" * 3 + "C8:|", Limits(bars=5), "with its repeats written out it has more"),
    ],
)
def test_the_limits_on_a_tune(music: str, limits: Limits, problem: str | None) -> None:
    """Bars and notes count as played; at the limit a tune is read, above it refused."""
    read = tune(music, limits=limits)
    if problem is None:
        assert problems(read) == []
    else:
        assert problems(read)[0].startswith(f"line 1, column 1: {problem}")


def test_a_title_too_long_to_show_is_refused() -> None:
    """As long as a stored title may be, and no longer."""
    assert problems(tune('"C"C8|', HEAD.replace("Test", "a" * 121))) == [
        "line 1, column 1: its title is longer than 120 characters"
    ]


def test_a_tune_without_title_is_refused() -> None:
    """It says how to give one."""
    read = tune('"C"C8|', HEAD.replace("T:Test\n", ""))
    assert problems(read)[0].startswith("line 1, column 1: it has no title; add one with --title")
    assert read.title == "tune 1"


def test_reading_abc_loads_no_music21() -> None:
    """The 0.3 s of music21 are spent on MusicXML only."""
    data = (HEAD + '"C"C8|').encode()
    code = (
        "import sys; from drillbox.notation import read_bytes;"
        f"assert read_bytes({data!r}, 'x').tunes[0].phrase;"
        "sys.exit('music21' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_a_tune_says_whether_its_page_tells_how_it_sounds() -> None:
    """MusicXML always does; ABC where it transposes, be it by nothing or by a clef's octave."""
    plain, moved = tune('"C"C8|'), tune('"C"C8|', HEAD.replace("K:C", "K:C transpose=-2"))
    octave = tune('"C"C8|', HEAD.replace("K:C", "K:C clef=treble-8"))
    still = tune('"C"C8|', HEAD.replace("K:C", "K:C transpose=0"))
    score = read_part(harmony("C") + note("C4", 16))
    found = [each.concert for each in (plain, moved, octave, still, score)]
    assert found == [False, True, True, True, True]
