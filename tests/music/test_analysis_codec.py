"""An analysis written to JSON and read back."""

from __future__ import annotations

import hashlib
import json
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.analysis.codec import RULES, analysis_from, analysis_json, is_current
from drillbox.music.analysis.whole import Analysis, analyse
from drillbox.music.pitch import Pitch

from .test_analysis import CHARTS, LINES, STRUCK, phrase_of
from .worked import phrase


def there_and_back(analysis: Analysis) -> Analysis:
    return analysis_from(json.loads(json.dumps(analysis_json(analysis))))


@pytest.mark.parametrize("name", LINES)
def test_worked_lines_come_back_as_they_were(name: str) -> None:
    """Nothing is lost, fractions and tuples included."""
    analysis = analyse(LINES[name].phrase)
    assert there_and_back(analysis) == analysis


def test_charts_of_every_function_come_back() -> None:
    """Substitutes, turnarounds, chords without function and no chord, without a line."""
    for chart in (*CHARTS, "| Abm7 Db7 | Cmaj7 | NC C5 | (F#maj7) |", "| D7 | Dm7 | G7 | C6 |"):
        analysis = analyse(phrase(chart))
        assert there_and_back(analysis) == analysis


@given(
    st.sampled_from(CHARTS),
    st.sampled_from([Fraction(-1, 2), Fraction(0)]),
    st.lists(STRUCK, max_size=16),
)
@settings(max_examples=100, deadline=None)
def test_any_analysis_comes_back(
    chart: str, start: Fraction, struck: list[tuple[Fraction, bool, Pitch, bool]]
) -> None:
    """Law: reading back what was written is the identity, through JSON text."""
    analysis = analyse(phrase_of(chart, start, struck))
    assert there_and_back(analysis) == analysis


@pytest.mark.parametrize(
    "value",
    [{}, [], None, {"chords": 3}, {"chords": [], "notes": [[1]], "enclosures": [], "cautions": []},
     {"chords": [], "notes": [[1, "1", 0, "3", ["solo"]]], "enclosures": [], "cautions": [],
      "subdivision": "1/2"},
     {"chords": [], "notes": [], "enclosures": [], "cautions": [], "subdivision": "1/0"}],
)  # fmt: skip
def test_what_is_no_analysis_is_refused(value: Any) -> None:
    """Missing parts, wrong types, unknown roles and impossible fractions raise ValueError."""
    with pytest.raises(ValueError, match=r"analysis|Role|unpack"):
        analysis_from(value)


def test_a_note_is_a_short_list() -> None:
    """The form that rows hold: bar, beat, span, degree, roles, then what is out of the ordinary."""
    written = analysis_json(analyse(phrase("| Dm7 |", "1.1 F4 1/2, 1.1& C#5 1/2")))
    assert written["notes"] == [
        [1, "1", 0, "b3", ["target", "guide tone", "chord tone"], False, None, "0"],
        [1, "3/2", 0, "7", ["outside"], True],
    ]


DIGEST = "a6f8afec9560"
"""Of the worked lines' analyses; where it changes, ``RULES`` is raised with it."""


def test_other_rules_have_another_number() -> None:
    """What is kept in a store is believed only if today's rules made it: so they are numbered."""
    written = [analysis_json(analyse(each.phrase)) for each in LINES.values()]
    digest = hashlib.sha256(json.dumps(written).encode()).hexdigest()
    assert digest[:12] == DIGEST
    assert is_current(written[0])
    assert not is_current({**written[0], "rules": RULES - 1})
    assert not is_current({})
