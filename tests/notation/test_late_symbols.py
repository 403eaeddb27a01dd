"""Chord symbols that stand at or behind the last note of their MusicXML measure.

MusicXML 4.0, ``harmony`` and ``offset``: a harmony stands where the notes have led to, moved by
its offset. What stands on a bar line sounds on the downbeat behind it (common practice).
"""

from __future__ import annotations

import pytest

from tests.notation.pages import chords, doubts, problems
from tests.notation.scores import attributes, harmony, note, read_part

WHOLE, HALF, QUARTER = note("C4", 16), note("C4", 8), note("C4", 4)
REPEAT = '<barline location="right"><repeat direction="backward"/></barline>'
NO_CHORD = "<direction><direction-type><words>N.C.</words></direction-type></direction>"
C, F, G = harmony("C"), harmony("F"), harmony("G", "dominant")


def moved(root: str, divisions: int) -> str:
    """Return a symbol with an offset, four divisions to the quarter note."""
    return harmony(root, more=f"<offset>{divisions}</offset>")


@pytest.mark.parametrize(
    ("measures", "chart"),
    [
        ([C + WHOLE + F, WHOLE], "C:4 | F:4"),
        ([C + HALF + HALF + G, WHOLE], "C:4 | G7:4"),
        ([C + HALF + note("z", 8) + F, WHOLE], "C:4 | F:4"),
        ([C + HALF + moved("F", 8) + HALF, WHOLE], "C:4 | F:4"),
        ([C + HALF + HALF + F, HALF + G + HALF], "C:4 | F:2 G7:2"),
        ([C + WHOLE + F, F + WHOLE], "C:4 | F:4"),
        ([QUARTER + F, WHOLE, WHOLE], "F:4 | F:4"),
        ([C + WHOLE + F + REPEAT, WHOLE], "C:4 | C:4 | F:4"),
        ([C + WHOLE + NO_CHORD, WHOLE], "C:4 | N.C.:4"),
        ([C + WHOLE + F, WHOLE + G, WHOLE], "C:4 | F:4 | G7:4"),
    ],
)
def test_a_symbol_on_the_bar_line_belongs_to_the_next_downbeat(
    measures: list[str], chart: str
) -> None:
    """It stands at the beginning of the next measure of the page, and the player is told."""
    tune = read_part(*measures)
    assert tune.phrase is not None, problems(tune)
    assert chords(tune.phrase.chart) == chart
    if measures[1] != F + WHOLE:
        assert any("taken to the next downbeat" in each for each in doubts(tune))


TRIPLET = (
    "<type>eighth</type><time-modification><actual-notes>3</actual-notes>"
    "<normal-notes>2</normal-notes></time-modification>"
)
TURNAROUND = "<direction><direction-type><words>turnaround</words></direction-type>{}</direction>"


@pytest.mark.parametrize(
    ("measure", "chart"),
    [
        (C + moved("F", 341), "C:1/3 F:11/3"),
        (C + moved("F", 683), "C:2/3 F:10/3"),
        (C + moved("F", 341) + TURNAROUND.format("<offset>341</offset>"), "C:1/3 (F):11/3"),
        (C + moved("F", 341) + NO_CHORD.replace("</direction>", "<offset>683</offset></direction>"),
         "C:1/3 F:1/3 N.C.:10/3"),
    ],
)  # fmt: skip
def test_an_offset_rounded_to_divisions_stands_at_its_note(measure: str, chart: str) -> None:
    """A third of 1,024 divisions is 341: a symbol so far on, or a word, is that note's."""
    notes = "".join(note("C4", length, TRIPLET) for length in (341, 341, 342))
    tune = read_part(measure + notes + note("z", 3072), first=attributes(divisions=1024))
    assert tune.phrase is not None, problems(tune)
    assert chords(tune.phrase.chart) == chart


@pytest.mark.parametrize(
    ("measures", "measure"),
    [
        ([C + HALF + moved("F", 16) + HALF, WHOLE], 1),
        ([C + WHOLE + moved("F", 4), WHOLE], 1),
        ([C + moved("F", 24) + WHOLE, WHOLE], 1),
        ([C + WHOLE + F, G + WHOLE], 1),
        ([C + WHOLE, WHOLE + F], 2),
        ([C + WHOLE, HALF + moved("F", 8) + HALF], 2),
    ],
)
def test_a_symbol_without_a_place_is_refused_with_its_measure(
    measures: list[str], measure: int
) -> None:
    """Beyond the bar line, where another symbol stands already, or behind the tune's last note."""
    tune = read_part(*measures)
    assert tune.phrase is None
    assert problems(tune)[0].startswith(f"measure {measure} of part Alto: the chord symbol F ")
