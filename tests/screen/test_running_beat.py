"""What a drill and a round say of themselves while the beat runs, and of a rating undone."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drillbox.player.controls import Pedal, foot_of
from drillbox.player.in_drill import InDrill
from drillbox.player.in_round import InRound
from drillbox.practice.adding import keep, prepare, typed_phrase
from drillbox.practice.drilling import Drill
from drillbox.practice.preferences import preferences_from
from drillbox.practice.rounds import Round, round_cards
from drillbox.screen.footer import Foot
from drillbox.screen.look import Look
from drillbox.store.access import Store
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import find_phrase
from tests.player.beats import at
from tests.screen.states import shown

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)
PREFERENCES = preferences_from({"zone": "UTC"})
PEDAL = Pedal("start", "clean")


@pytest.fixture
def store(made: Path) -> Iterator[Store]:
    """Return a store with a phrase of two bars of 4/4."""
    with open_store(made, now=NOW, backups=False) as opened:
        phrase = typed_phrase(title="Red door", key="C", tempo="120", chart="Dm7 G7 | Cmaj7 (A7)")
        keep(opened, [prepare(phrase, PREFERENCES)], NOW)
        yield opened


@pytest.fixture
def drilled(store: Store) -> InDrill:
    """Return a drill of it."""
    return InDrill(Drill(store, PREFERENCES, minutes=20, now=NOW), lambda: NOW, ascii=True)


@pytest.fixture
def played(store: Store) -> InRound:
    """Return a round of it, with one bar counted in at tempo 120."""
    cards = round_cards(store, PREFERENCES, find_phrase(store, "Red door"), whole=True)
    playing = Round(store, PREFERENCES, cards, tempo=100, loops=1, now=NOW)
    return InRound(playing, lambda: NOW, ascii=True)


def footer(session: InDrill | InRound) -> str:
    """Return what a screen says can be pressed, a pedal's two sides among it."""
    foot: Foot = foot_of({**session.actions(), "start": None, "help": None}, PEDAL, ascii=True)
    look = Look(120, 40, ascii=True)
    return shown(look, lambda look: session.screen(look, "", foot)).splitlines()[-1]


def test_the_footer_of_a_drill_stops_what_runs(drilled: InDrill):
    """Space and pedal start the beat, and stop it while it runs; tempo moves either way."""
    before = footer(drilled)
    drilled.pulse()
    drilled.beats_now = lambda: 1.0
    running = footer(drilled)
    assert running == before.replace("start", "stop beat")
    assert "<- stop beat  -> clean  space stop beat" in running
    assert "+ faster" in running
    drilled.beats_now = None
    assert footer(drilled) == before


def test_the_footer_of_a_round_leaves_out_what_waits_for_a_stop(played: InRound):
    """Its tempo can't be moved while the beat runs, and a press says so."""
    assert "space start" in footer(played)
    assert "+ faster  - slower" in footer(played)
    at(played, 4 + 3.0)
    running = footer(played)
    assert "space stop beat" in running
    assert "start" not in running
    assert "faster" not in running
    assert "slower" not in running
    assert played.actions()["faster"]().message == "Stop the beat first: space."


def test_a_rating_undone_while_its_key_sounds_is_given_again_at_once(played: InRound):
    """The sentence says which rating comes next, and so it is."""
    at(played, 4 + 3.0)
    played.actions()["clean"]()
    assert played.actions()["undo"]().message == "Rating undone. Rate it again."
    assert played.actions()["fluent"]().message.startswith("Red door in C: fluent.")
    at(played, 4 + 8 + 3.0)
    assert played.actions()["undo"]().message == "Rating undone. You rate it after the round."
    assert played.actions()["fluent"]().message.startswith("Red door in F: fluent.")


def test_a_round_says_where_its_tempo_ends(played: InRound):
    """At the goal it goes no faster, and no slower than the slowest tempo."""
    said = [played.actions()["faster"]().message for _ in range(5)]
    assert said[-1] == "Tempo 120: that is as fast as it goes."
    assert said[0] == "Tempo 106 for the rest of the round."
    said = [played.actions()["slower"]().message for _ in range(20)]
    assert said[-1].endswith(": that is as slow as it goes.")
