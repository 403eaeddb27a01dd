"""A round over a real store: its order, how each key leads on, and what is asked for after it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from drillbox.errors import BadInput, NotFound, Overtaken, StoreFailure
from drillbox.memory.recall import Recall
from drillbox.music.keys import ORDERS
from drillbox.practice import rating
from drillbox.practice.adding import keep, prepare, typed_phrase
from drillbox.practice.editing import Wanted, carry_out, plan_edit
from drillbox.practice.preferences import preferences_from
from drillbox.practice.rounds import Round, is_open, led_on, round_cards
from drillbox.store.access import Store
from drillbox.store.card_rows import card, cards_of
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import delete_phrase, find_phrase
from tests.conftest import copied
from tests.music.shorthand import short
from tests.store.making import go, session
from tests.store.reading import attempts_of

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)
OWN = "C G D A E B Gb Db Ab Eb Bb F"
PREFERENCES = preferences_from({"zone": "Europe/Lisbon", "own_order": OWN})
PHRASES = {
    "Major": ("Bb", "Cm7 F7 | Bbmaj7 (G7)"),
    "Minor": ("Cm", "Dm7b5 G7 | Cm6 (G7)"),
    "Bare": ("F", "Gm7 C7 | Fmaj7"),
    "Suspended": ("C", "F/G | G7 | Cmaj7"),
    "Silent": ("C", "N.C. | N.C."),
}


@pytest.fixture(scope="module")
def five(empty: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a store with these phrases; copy it, don't change it."""
    file = copied(empty, tmp_path_factory.mktemp("five") / "store.sqlite3")
    phrases = [
        typed_phrase(title=title, key=key, tempo="120", chart=chart)
        for title, (key, chart) in PHRASES.items()
    ]
    with open_store(file, now=NOW, backups=False) as opened:
        keep(opened, [prepare(each, PREFERENCES) for each in phrases], NOW)
    return file


@pytest.fixture
def store(five: Path, place: Path) -> Iterator[Store]:
    """Return an open store with five phrases in 4/4 whose goal is 120."""
    with open_store(copied(five, place), now=NOW, backups=False) as opened:
        yield opened


def cards(store: Store, title: str = "Major", **more):
    """Return the cards of a round through all twelve keys."""
    record = find_phrase(store, title)
    return round_cards(store, PREFERENCES, record, **({"whole": True} | more))


def begin(store: Store, *, tempo: int | None = None, loops: int = 1, **more) -> Round:
    """Begin a round through all twelve keys."""
    return Round(store, PREFERENCES, cards(store, **more), tempo=tempo, loops=loops, now=NOW)


def keys(found) -> list[str]:
    """Return the keys of cards."""
    return [each.key.text() for each in found]


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("title", ["Major", "Minor", "Bare"])
def test_each_key_leads_by_a_dominant_into_the_next_and_the_last_home(store, order, title):
    """A dominant lies a fifth, seven semitones, above the chord that it leads to."""
    found = cards(store, title, order=order)
    assert len({each.key for each in found}) == 12
    charts = led_on(found)
    assert len({len(each.bars) for each in charts}) == 1
    for chart, after in zip(charts, [*charts[1:], *charts[:1]], strict=True):
        last = chart.bars[-1].spans[-1]
        assert last.turnaround
        first = after.sounding()[0]
        assert (last.chord.root.pitch_class - first.root.pitch_class) % 12 == 7
        assert short(last.chord).endswith("7")


def test_a_suspended_slash_chord_is_led_to_from_above_its_bass(store):
    """C/D is D9sus4 in G, so C leads there by A7, not by the dominant of C."""
    charts = led_on(cards(store, "Suspended", order="fifths"))
    assert [short(each.bars[-1].spans[-1].chord) for each in charts[:3]] == ["A7", "E7", "B7"]


def test_where_nothing_sounds_there_is_nothing_to_lead_to(store):
    """A chart of rests goes through a round unchanged."""
    found = cards(store, "Silent")
    assert led_on(found) == [each.chart for each in found]


@pytest.mark.parametrize("order", [None, *ORDERS])
def test_a_key_put_aside_is_left_out_of_every_order(store, order):
    """The round goes on to the key after it, and the other eleven come once each."""
    record = find_phrase(store, "Major")
    wanted = plan_edit(store, PREFERENCES, record, Wanted(aside=("Eb",)))
    carry_out(store, wanted, NOW)
    found = keys(cards(store, order=order))
    assert len(set(found)) == len(found) == 11
    assert "Eb" not in found


def test_the_own_order_is_entered_where_the_round_begins(store):
    """By fifths here, as it was set, from the key that was asked for."""
    assert keys(cards(store, order="own", start="A"))[:4] == ["A", "E", "B", "Gb"]


def test_keys_are_named_as_the_player_reads_them(store):
    """A trumpeter's C is the concert Bb, and the round begins there."""
    trumpet = preferences_from({"instrument": "trumpet"})
    found = round_cards(store, trumpet, find_phrase(store, "Major"), start="C", whole=True)
    assert keys(found)[0] == "Bb"
    played = Round(store, trumpet, found, tempo=None, loops=1, now=NOW)
    assert [leg.key.text() for leg in played.legs][:3] == ["C", "F", "Bb"]
    assert [short(chord) for chord in played.legs[0].on.sounding()] == ["Dm7", "G7", "Cmaj7", "D7"]


def test_what_cannot_be_begun(store):
    """No key started, this key not started, a key in the other mode, no such order."""
    with pytest.raises(BadInput, match="is started yet"):
        cards(store, whole=False)
    begin(store).rate(0, Recall.CLEAN, NOW)
    assert keys(cards(store, whole=False)) == ["Bb"]
    with pytest.raises(BadInput, match="isn't started"):
        cards(store, whole=False, start="Eb")
    with pytest.raises(BadInput, match="played in Ebm"):
        cards(store, start="Ebm")
    with pytest.raises(BadInput, match="isn't an order"):
        cards(store, order="sideways")


def test_played_keys_are_asked_for_in_the_order_of_playing(store):
    """What was rated or left isn't asked for; what wasn't reached isn't either."""
    played = begin(store)
    assert (played.shown, played.asked) == (0, None)
    played.play_to(2)
    played.rate(2, Recall.FLUENT, NOW)
    played.play_to(4)
    played.leave(1)
    played.stop()
    assert [played.is_left(index) for index in (1, 4, 11)] == [True] * 3
    assert played.shown == 0
    played.rate(0, Recall.LOST, NOW)
    assert played.shown == 3
    played.rate(3, Recall.ROUGH, NOW)
    assert played.shown is None
    assert [each.recall.word for each in played.rated] == ["fluent", "lost", "rough"]


def test_a_key_is_rated_once_and_opened_by_it(store):
    """The second rating changes nothing; the card is open from that practice day on."""
    played = begin(store, tempo=90, loops=2)
    done = played.rate(5, Recall.CLEAN, NOW)
    assert played.rate(5, Recall.LOST, NOW) is None
    stored = card(store, done.read.id)
    assert is_open(stored)
    assert stored.opened_day == date(2026, 3, 2)
    (attempt,) = attempts_of(store, stored.id)
    assert (attempt.recall, attempt.tempo, attempt.loops) == (Recall.CLEAN, 90, 2)
    assert (attempt.in_round, attempt.hint) == (True, 0)
    assert attempt.seconds == pytest.approx(2 * 8 * 60 / 90)
    assert played.finish(NOW + timedelta(minutes=3)).attempts == played.rated


def test_undo_takes_back_the_last_rating_first(store):
    """Each step gives the card its former state; the key is asked for again."""
    played = begin(store)
    before = [card(store, leg.read.id).state for leg in played.legs[:2]]
    played.play_to(12)
    played.rate(0, Recall.CLEAN, NOW)
    played.rate(1, Recall.LOST, NOW)
    assert played.undo(NOW)
    assert played.shown == 1
    assert played.undo(NOW)
    assert played.shown == 0
    assert not played.undo(NOW)
    assert [card(store, leg.read.id).state for leg in played.legs[:2]] == before


def test_a_rated_key_is_not_left_and_one_taken_back_is_asked_for(store):
    """Stopping leaves what isn't rated; a key that was rated then comes back once it isn't."""
    played = begin(store)
    played.play_to(1)
    played.rate(1, Recall.CLEAN, NOW)
    assert not played.leave(1)
    assert played.leave(0)
    played.stop()
    assert played.shown is None
    played.undo(NOW)
    assert played.shown == 1


def test_a_rating_deleted_with_its_phrase_is_not_the_last_any_more(store):
    """It can't be taken back, and the keys that were played of it aren't asked for."""
    played = begin(store)
    played.play_to(2)
    for index in (0, 1):
        played.rate(index, Recall.CLEAN, NOW)
    delete_phrase(store, find_phrase(store, "Major").id, NOW)
    (other, *_) = cards_of(store, find_phrase(store, "Minor").id)
    made = go(store, other.id, session(store), [Recall.CLEAN, Recall.CLEAN])  # the same numbers
    for left in (1, 0):
        with pytest.raises(NotFound):
            played.undo(NOW)
        assert len(played.rated) == left
    assert attempts_of(store, other.id) == made
    assert not played.undo(NOW)
    assert played.asked is None


def test_what_cannot_be_stored_is_asked_for_again(store, monkeypatch: pytest.MonkeyPatch):
    """The failure reaches the player, and the key stays unrated."""
    played = begin(store)

    def full(*_: object) -> None:
        raise StoreFailure("The disk is full", "Make room.")

    with monkeypatch.context() as patch:
        patch.setattr(rating, "record_attempt", full)
        with pytest.raises(StoreFailure):
            played.rate(0, Recall.CLEAN, NOW)
    assert played.recall_of(0) is None
    assert played.rate(0, Recall.CLEAN, NOW) is not None


def test_a_card_that_moved_meanwhile_is_rated_over_its_new_state(
    store, monkeypatch: pytest.MonkeyPatch
):
    """Another session rates the card between reading and writing: both ratings are kept."""
    played, other = begin(store), begin(store)
    real = rating.record_attempt
    meanwhile = [lambda: other.rate(0, Recall.FLUENT, NOW)]

    def late(*arguments):
        if meanwhile:
            meanwhile.pop()()
        return real(*arguments)

    monkeypatch.setattr(rating, "record_attempt", late)
    done = played.rate(0, Recall.CLEAN, NOW)
    found = attempts_of(store, done.read.id)
    assert [each.recall for each in found] == [Recall.FLUENT, Recall.CLEAN]
    assert card(store, done.read.id).state == done.after
    with pytest.raises(Overtaken):
        other.undo(NOW)


def test_the_tempo_moves_by_rungs_and_stays_within_floor_and_goal(store):
    """A rung is 5 % of the goal of 120; the keys start at 72, the floor is 40."""
    played = begin(store)
    assert played.tempo == 72
    assert played.change_tempo(1) == 78
    assert played.change_tempo(20) == 120
    assert played.change_tempo(-50) == 40


def test_a_key_keeps_the_tempo_that_it_was_played_at(store):
    """Rated after the tempo was changed for the rest of the round, with the time that it took."""
    played = begin(store, tempo=100)
    played.play_to(2)
    assert played.change_tempo(-2) == 88
    played.play_to(3)
    for index, tempo in ((0, 100), (2, 88)):
        done = played.rate(index, Recall.CLEAN, NOW)
        (attempt,) = attempts_of(store, done.read.id)
        assert attempt.tempo == tempo
        assert attempt.seconds == pytest.approx(8 * 60 / tempo)


def test_a_round_over_the_goal_does_not_fall_by_going_faster(store):
    """It was asked for at 200 over a goal of 120: faster leaves it there, slower is a step."""
    played = begin(store, tempo=200)
    assert played.change_tempo(1) == 200
    assert 180 <= played.change_tempo(-1) < 200


def test_pauses_do_not_count(store):
    """Ten minutes of which four were a pause."""
    played = begin(store)
    played.pause(timedelta(minutes=4))
    assert played.finish(NOW + timedelta(minutes=10)).minutes == pytest.approx(6)


def test_a_round_without_a_beat_took_what_is_stored(store):
    """Ratings from a script say nothing of the time: the goes that stand are added up."""
    found = cards(store)
    played = Round(store, PREFERENCES, found, tempo=100, loops=5, now=NOW, timed=False)
    played.play_to(12)
    for index in range(3):
        played.rate(index, Recall.CLEAN, NOW)
    played.undo(NOW)
    seconds = [attempts_of(store, each.id)[0].seconds for each in found[:2]]
    minutes = played.finish(NOW + timedelta(seconds=1)).minutes
    assert minutes == pytest.approx(sum(seconds) / 60)
    assert minutes == pytest.approx(2 * 5 * 8 / 100)
