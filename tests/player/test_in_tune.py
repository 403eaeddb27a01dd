"""A tune as it is played: where the beat stands in it, and when its phrases are asked for."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from drillbox.music.pulse import Position
from drillbox.player.in_tune import InTune
from drillbox.player.session import DELETED_TOO
from drillbox.store.access import Store
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import delete_phrase
from tests.practice.choruses import choruses, tune
from tests.store.making import NOW

TUNE = "Dm7 G7 | Cmaj7 | Abmaj7 | Dbmaj7"
"""Four bars; the worked phrase is over after the second."""


@pytest.fixture
def store(made: Path) -> Iterator[Store]:
    with open_store(made, now=NOW, backups=False) as opened:
        yield opened


def in_tune(store: Store, *, timed: bool = True) -> InTune:
    """Return the tune, once through."""
    played = choruses(store, tune(TUNE), "short", times=1, timed=timed)
    return InTune(played, lambda: NOW, ascii=False)


def test_a_stopped_beat_goes_on_from_its_bar(store: Store) -> None:
    """While that is counted in, its bar is shown; it alone and what follows is still played."""
    session = in_tune(store)
    session.pulse()
    session.follow(Position(count_in=False, loop=0, bar=2, beat=1))
    session.position = None
    pulse = session.pulse()
    assert not isinstance(pulse, str)
    assert pulse.bars == 2
    assert session.view().bar == 2
    session.follow(Position(count_in=True, loop=0, bar=0, beat=3))
    assert session.view().bar == 2
    session.follow(Position(count_in=False, loop=0, bar=1, beat=0))
    assert session.view().bar == 3


def test_a_phrase_is_asked_for_once_the_tune_is_over(store: Store) -> None:
    """Not while it goes, though it was heard; then until it is rated or left."""
    session = in_tune(store)
    assert (session.shown, session.view().asking) == (True, None)
    assert set(session.actions()) == {"undo", "stop"}
    session.pulse()
    session.follow(Position(count_in=False, loop=0, bar=3, beat=0))
    assert (session.shown, session.view().asking) == (True, None)
    session.play_out()
    assert session.shown
    assert session.view().asking is not None
    session.actions()["skip"]()
    assert (session.shown, session.done) == (False, True)


def test_without_a_beat_every_phrase_is_asked_for_at_once(store: Store) -> None:
    """The tune counts as played to its end; rated, it is over, and the rating can be undone."""
    session = in_tune(store, timed=False)
    assert session.view().asking is not None
    session.actions()["clean"]()
    assert (session.shown, session.done) == (False, False)
    session.actions()["undo"]()
    assert session.view().asking is not None


def test_a_rating_deleted_with_its_phrase_ends_nothing(store: Store) -> None:
    """Undoing it says so; nothing is left to undo then, and nothing to rate."""
    session = in_tune(store, timed=False)
    session.actions()["clean"]()
    delete_phrase(store, session.tune.reads[0].phrase_id, NOW)
    assert session.actions()["undo"]().message == DELETED_TOO
    assert session.actions()["undo"]().message == "Nothing to undo."
    assert session.done
