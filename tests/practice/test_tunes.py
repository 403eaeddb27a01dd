"""Tunes changed as they are typed."""

from __future__ import annotations

import pytest

from drillbox.music.charts import Meter
from drillbox.music.keys import parse_key
from drillbox.music.symbols.typed import chart_text, parse_chart
from drillbox.music.tunes import Tune
from drillbox.practice.preferences import preferences_from
from drillbox.practice.tunes import Retuned, changed
from drillbox.store.values import TuneRecord
from tests.store.making import NOW


@pytest.mark.parametrize(
    ("wanted", "key", "chart"),
    [
        (Retuned(chart="Am7 | D7"), "F#", "Cm7 | F7"),
        (Retuned(key="F"), "Ab", "Cb7 | Fb7"),
    ],
)
def test_what_is_not_typed_keeps_its_spelling(wanted: Retuned, key: str, chart: str) -> None:
    """An alto's page shows F# and Cb7 as Eb and Ab7; only what is typed comes back from it."""
    tune = Tune("Tram", parse_key("F#"), 120, parse_chart("Cb7 | Fb7", Meter(4, 4)), ())
    record = TuneRecord(1, "uid", tune, ("quartet",), NOW)
    new = changed(record, wanted, preferences_from({"instrument": "alto sax"})).tune
    assert (new.key.text(), chart_text(new.chart)) == (key, chart)
