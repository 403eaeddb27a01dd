"""What lines of our own were written to hold is found in them."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from drillbox.music.analysis.roles import Role
from drillbox.music.analysis.whole import Analysis, analyse, role_text
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import parse_pitch

from .planned_lines import LINES, Planned
from .worked import phrase

CASES = [
    pytest.param(each, feature.strip(), id=f"{number}-{feature.strip()}")
    for number, each in enumerate(LINES, 1)
    for feature in each.features.split(";")
]


def read(planned: Planned) -> Phrase:
    notes, at = [], Fraction(0)
    for word in planned.line.replace("|", " ").split():
        pitch, _, eighths = word.partition("*")
        length = Fraction(int(eighths or 1), 2)
        if pitch != "-":
            name = parse_pitch(pitch.rstrip("!"))
            notes.append(LineNote(at, length, name, pitch.endswith("!")))
        at += length
    base = phrase(planned.chart, key=planned.key)
    return Phrase(base.title, base.key, base.tempo, base.chart, tuple(notes))


def implied(analysis: Analysis, notes: tuple[int, ...]) -> str:
    found = [each for each in getattr(analysis, "implied", ()) if each.notes == notes]
    return found[0].text() if found else ""


def found(analysis: Analysis, feature: str) -> bool:
    kind, _, rest = feature.partition(" ")
    if kind == "no":
        return not found(analysis, rest)
    places = tuple(int(each) for each in re.findall(r"(?<!\S)\d+(?=\s|:|$)", feature))
    if kind == "enclosure":
        *around, landing = places
        return any(
            (each.notes, each.landing) == (tuple(around), landing) for each in analysis.enclosures
        )
    if kind == "implied":
        wanted, text = feature.partition(": ")[2], implied(analysis, places)
        return text == wanted or text.startswith(f"{wanted} ")
    if kind == "arpeggio":
        return feature.rpartition(" ")[0] in role_text(analysis, places[-1])
    return Role(kind) in analysis.notes[places[0]].roles


@pytest.mark.parametrize(("planned", "feature"), CASES)
def test_a_planned_feature_is_found(planned: Planned, feature: str) -> None:
    """A target, an enclosure, an arpeggio's degree, an implied harmony: where it was put."""
    assert found(analyse(read(planned)), feature)


def test_there_are_as_many_as_were_planned() -> None:
    """Twenty lines, 53 features."""
    assert (len(LINES), len(CASES)) == (20, 53)
