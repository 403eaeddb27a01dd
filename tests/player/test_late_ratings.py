"""In a round a rating just after a change is for the key that was just played."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drillbox.memory.recall import Recall
from drillbox.player.in_round import InRound
from drillbox.player.session import DELETED_TOO
from drillbox.practice.adding import keep, prepare, typed_phrase
from drillbox.practice.preferences import preferences_from
from drillbox.practice.rounds import Round, round_cards
from drillbox.screen.footer import NO_FOOT
from drillbox.screen.look import Look
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import delete_phrase, find_phrase
from tests.player.beats import at
from tests.screen.states import shown

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)
PREFERENCES = preferences_from({"zone": "UTC"})


@pytest.fixture
def played(made: Path) -> Iterator[InRound]:
    """Return a round of a phrase of two bars of 4/4; one bar is counted in at tempo 120."""
    with open_store(made, now=NOW, backups=False) as store:
        phrase = typed_phrase(title="Red door", key="C", tempo="120", chart="Dm7 G7 | Cmaj7 (A7)")
        keep(store, [prepare(phrase, PREFERENCES)], NOW)
        cards = round_cards(store, PREFERENCES, find_phrase(store, "Red door"), whole=True)
        playing = Round(store, PREFERENCES, cards, tempo=120, loops=1, now=NOW)
        yield InRound(playing, lambda: NOW, ascii=True)


def test_in_the_first_beat_and_a_half_the_key_before_is_rated(played: InRound):
    """Eight beats a key: at beat 8 + 1.4 of the second key's first it is still C that is meant."""
    at(played, 4 + 8 + 1.4)
    assert played.actions()["clean"]().message.startswith("Red door in C: clean.")
    assert played.round.recall_of(0) is Recall.CLEAN
    assert played.round.recall_of(1) is None


def test_from_then_on_the_sounding_key_is_rated(played: InRound):
    """At a beat and a half exactly the rating is for F."""
    at(played, 4 + 8 + 1.5)
    assert played.actions()["lost"]().message.startswith("Red door in F: lost.")


def test_in_the_first_key_nothing_was_played_before_it(played: InRound):
    """Its own first beats rate itself."""
    at(played, 4 + 0.5)
    assert played.actions()["clean"]().message.startswith("Red door in C: clean.")


def test_a_skip_is_for_the_same_key_as_a_rating(played: InRound):
    """What is left unrated is the key that was just played."""
    at(played, 4 + 16 + 0.2)
    assert played.actions()["skip"]().message == "F is left unrated."


def test_the_screen_says_for_which_key_a_rating_is(played: InRound):
    """As long as it holds, and it tells the stage when that ends."""
    at(played, 4 + 8 + 1.2)
    for look in (Look(80, 24, ascii=True), Look(120, 40, ascii=True)):
        assert "a rating now is for C" in shown(look, lambda look: played.screen(look, "", NO_FOOT))
    assert played.changes_at() == 4 + 8 + 1.5
    at(played, 4 + 8 + 1.6)
    assert "a rating now" not in shown(
        Look(80, 24, ascii=True), lambda look: played.screen(look, "", NO_FOOT)
    )
    assert played.changes_at() is None


def test_a_key_that_is_rated_already_is_not_rated_again(played: InRound):
    """A second press is refused, and says how to take the first one back."""
    at(played, 4 + 8 + 3)
    played.actions()["fluent"]()
    assert played.actions()["lost"]().message == "F is rated already; u undoes that."
    assert played.round.recall_of(1) is Recall.FLUENT


def test_a_key_that_is_rated_already_is_not_left_unrated(played: InRound):
    """Skipped after its rating it says how to take that back; taken back it is asked for."""
    at(played, 4 + 8 + 3)
    played.actions()["clean"]()
    assert played.actions()["skip"]().message == "F is rated already; u undoes that."
    assert played.mark(1) == "clean"
    assert played.actions()["undo"]().message == "Rating undone. Rate it again."
    at(played, 4 + 16 + 3)
    played.actions()["stop"]()
    assert [played.mark(index) for index in (0, 1, 2)] == ["to rate", "to rate", "left"]


def test_without_the_beat_undoing_goes_back_to_the_key(played: InRound):
    """It was never played: it comes again, and the beat would begin there. A rating for what the
    beat went through is given again after the round."""
    for _ in range(2):
        played.actions()["clean"]()
    for index in (1, 0):
        assert played.actions()["undo"]().message == "Rating undone. Rate it again."
        assert played.index == index
    at(played, 4 + 8 + 3)
    played.actions()["clean"]()
    at(played, 4 + 16 + 3)
    played.beats_now = None
    assert played.actions()["undo"]().message == "Rating undone. You rate it after the round."
    assert played.index == 2


def test_a_rated_key_without_the_beat_can_be_passed(played: InRound):
    """Rated while it sounded, and then the beat was stopped: s goes on."""
    at(played, 4 + 8 + 3)
    played.actions()["clean"]()
    played.beats_now = played.position = None
    assert played.actions()["skip"]().message == "F is rated already; u undoes that."
    assert (played.index, played.mark(1)) == (2, "clean")


def test_undoing_a_rating_that_was_deleted_with_its_phrase(played: InRound):
    """The round goes on, and each press takes the next one away."""
    at(played, 4 + 8 + 3)
    played.actions()["clean"]()
    delete_phrase(played.round.store, find_phrase(played.round.store, "Red door").id, NOW)
    assert played.actions()["undo"]().message == DELETED_TOO
    assert played.actions()["undo"]().message == "Nothing to undo."


def test_what_is_heard_goes_through_all_keys_from_the_one_shown(played: InRound):
    """The backing's charts are as many bars as the beat runs through, at concert pitch."""
    assert len(played.charts()) == 12
    played.round.play_to(3)
    pulse = played.pulse()
    assert sum(len(chart.bars) for chart in played.charts()) == pulse.bars == 9 * 2
