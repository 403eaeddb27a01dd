"""How long the beat of a drill goes on: as often through the chart as the player has set."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from drillbox.player.in_drill import InDrill
from drillbox.practice.adding import keep, prepare, typed_phrase
from drillbox.practice.drilling import Drill
from drillbox.practice.preferences import preferences_from
from drillbox.store.opening import open_store

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)


@pytest.mark.parametrize(("loops", "played"), [(1, 1), (3, 3), (0, None)])
def test_the_beat_goes_through_the_chart_as_often_as_is_set(
    made: Path, loops: int, played: int | None
):
    """Nought stands for until it is stopped; doubled, each bar has twice the beats."""
    preferences = preferences_from({"loops": loops, "beat": "doubled"})
    with open_store(made, now=NOW, backups=False) as store:
        for title, double in (("Tin roof", False), ("Tin tram", True)):
            phrase = typed_phrase(
                title=title, key="C", tempo="120", chart="Dm7 G7 | Cmaj7", double_time=double
            )
            keep(store, [prepare(phrase, preferences)], NOW)
        drill = Drill(store, preferences, minutes=10, now=NOW)
        pulse = InDrill(drill, lambda: NOW, ascii=True).pulse()
        showing = drill.showing
    assert showing is not None
    assert (pulse.loops, pulse.bars) == (played, 2)
    assert pulse.beats_in_bar == (8 if showing.card.double_time else 4)
