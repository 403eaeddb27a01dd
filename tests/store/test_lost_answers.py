"""A server whose answer to a commit is lost: nothing is stored twice, nothing wrongly denied."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest

from drillbox.errors import NotKnown, StoreFailure
from drillbox.memory.recall import Recall
from drillbox.player.in_drill import InDrill
from drillbox.player.session import act
from drillbox.practice.drilling import Drill
from drillbox.practice.preferences import preferences_from
from drillbox.practice.rounds import Round
from drillbox.store.attempts import attempts_of
from drillbox.store.cards import cards_of
from drillbox.store.checks import check_store
from drillbox.store.opening import Store, open_store
from drillbox.terminal.presses import Press
from tests.store.cutting import Cut, Line
from tests.store.making import NOW, add
from tests.store.serving import PASSWORD, Server, served

PREFERENCES = preferences_from({})


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    """A server for all tests of this file."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PGPASSWORD", PASSWORD)
        with served() as running:
            yield running


@pytest.fixture
def line(server: Server) -> Iterator[Line]:
    """A line to it that can be cut."""
    made = Line(server.port)
    yield made
    made.close()


@pytest.fixture
def store(server: Server, line: Line, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """A store with one phrase on the server, reached by that line."""
    monkeypatch.setenv("PGPASSWORD", PASSWORD)
    address = server.database().replace(f":{server.port}/", f":{line.port}/")
    with open_store(address, now=NOW) as opened:
        add(opened, "Late kettle")
        yield opened


def stored(store: Store) -> list[Recall]:
    """Return all ratings there are, and prove that the cards are what they give."""
    assert check_store(store, PREFERENCES.rules) == []
    return [each.recall for card in cards_of(store, 1) for each in attempts_of(store, card.id)]


@pytest.mark.parametrize(("cut", "kept"), [("before", Recall.CLEAN), ("after", Recall.ROUGH)])
def test_a_rating_whose_answer_is_lost_is_stored_once(
    store: Store, line: Line, cut: Cut, kept: Recall
) -> None:
    """Rated once more, what the server has is told and kept; what it hasn't is stored."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    line.cut = cut
    with pytest.raises(NotKnown, match="it isn't known whether that was stored"):
        drill.rate(Recall.ROUGH, NOW)
    done = drill.rate(Recall.CLEAN, NOW + timedelta(seconds=9))
    assert done.recall is kept
    assert stored(store) == [kept]
    drill.undo(NOW + timedelta(seconds=20))
    assert stored(store) == []
    assert drill.rate(Recall.LOST, NOW + timedelta(seconds=40)).attempt_id != done.attempt_id
    assert stored(store) == [Recall.LOST]


@pytest.mark.parametrize("cut", ["before", "after"])
def test_a_round_stores_a_key_once(store: Store, line: Line, cut: Cut) -> None:
    """The same in a round, key by key."""
    cards = cards_of(store, 1)[:2]
    round_ = Round(store, PREFERENCES, cards, tempo=None, loops=2, now=NOW)
    for index in range(2):
        line.cut = cut
        with pytest.raises(NotKnown):
            round_.rate(index, Recall.ROUGH, NOW)
        assert round_.rate(index, Recall.ROUGH, NOW)
    assert stored(store) == [Recall.ROUGH, Recall.ROUGH]


def test_it_stays_unknown_until_the_server_is_back(
    server: Server, store: Store, line: Line
) -> None:
    """While it can't be asked, no press is told "nothing was stored"; then each is there once."""
    session = InDrill(Drill(store, PREFERENCES, minutes=20, now=NOW), lambda: NOW, ascii=False)
    line.cut = "after"
    first = act(session, Press("r"), session.actions())
    server.stop()
    try:
        second = act(session, Press("r"), session.actions())
    finally:
        server.start()
    for each in (first, second):
        assert "known" in each.message
        assert "nothing is stored twice" in each.message
        assert "Not stored" not in each.message
        assert "nothing was stored" not in each.message
    assert "rough" in act(session, Press("r"), session.actions()).message
    assert stored(store) == [Recall.ROUGH]


def test_a_fault_before_the_last_step_is_told_as_before(server: Server, store: Store) -> None:
    """A server that is gone when a change begins: nothing was stored, and that is said."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    server.stop()
    try:
        with pytest.raises(StoreFailure, match="nothing was stored") as caught:
            drill.rate(Recall.ROUGH, NOW)
    finally:
        server.start()
    assert not isinstance(caught.value, NotKnown)
    drill.rate(Recall.ROUGH, NOW)
    assert stored(store) == [Recall.ROUGH]
