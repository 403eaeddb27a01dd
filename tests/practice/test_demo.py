"""The demo: its store, and its invented player's past."""

from __future__ import annotations

import os
import shutil
import tempfile
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import pytest

from drillbox.memory.cards import replay, states
from drillbox.memory.days import practice_day
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.music.fits import Phrases
from drillbox.practice import demo
from drillbox.practice.demo import (
    AWAY,
    DAYS,
    PRACTISES,
    WEAK_KEYS,
    InventedCard,
    Past,
    build_history,
    demo_store,
)
from drillbox.practice.readiness import chances_of
from drillbox.store.card_rows import cards_of
from drillbox.store.files import realm
from drillbox.store.log import attempted_of
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import list_phrases, phrase, phrases_in_practice
from drillbox.store.tune_rows import list_gigs, list_tunes
from tests.store.reading import attempts_of, opened_on

NOW = datetime(2026, 3, 1, 18, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a demo store, made where it is made for a player; read it only."""
    said: list[str] = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TZ", "UTC")  # this fixture comes before the one that sets it for each test
        patch.setattr(tempfile, "tempdir", str(tmp_path_factory.mktemp("demo")))
        path = demo_store(NOW, said.append)
    assert len(said) == 1
    assert "invented" in said[0]
    assert str(path) in said[0]
    return path


def test_the_player_is_not_taken_for_a_kind_rater(built: Path) -> None:
    """Forgotten goes are lost, those at what was just played rough: no habit shows in them."""
    with open_store(built, now=NOW, backups=False) as store:
        assert not chances_of(store, Rules(), NOW.date()).learned.lenient


def test_holds_the_phrases_and_a_past(built: Path) -> None:
    """Every demo phrase is there in twelve keys, and every card stands where its past leads."""
    attempts = opened = 0
    with open_store(built, now=NOW, backups=False) as store:
        phrases = list_phrases(store)
        for each in phrases:
            record = phrase(store, each.id)
            assert record.phrase.line
            assert record.analysis_document is not None
            assert record.added_at < NOW - timedelta(weeks=4)
            cards = cards_of(store, each.id)
            assert len({card.key.tonic.pitch_class for card in cards}) == 12
            for card in cards:
                made = attempts_of(store, card.id)
                replayed = replay(card.goal, (attempted_of(one) for one in made), Rules())
                assert replayed == card.state
                assert all(record.added_at < one.at < NOW - timedelta(hours=6) for one in made)
                attempts += len(made)
                opened += bool(made)
        assert opened_on(store, NOW.date()) == 0
    assert len(phrases) == 12
    assert 800 < attempts < 2500  # eight weeks of some five days, with 20 to 60 goes each
    assert opened > 50


def test_is_kept_for_the_day(built: Path, short_past: None, tmp_path: Path) -> None:
    """On the same day the same store is opened again; the next day has one of its own.

    That day's stays where a program has it open; the day after both are gone.
    """
    built = Path(shutil.copy2(built, tmp_path))
    before = built.stat()
    assert demo_store(NOW + timedelta(hours=2), lambda _: None, built.parent) == built
    assert (built.stat().st_ino, built.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)
    killed = built.parent / f"drillbox-copy-{2**22 + 1}-{realm()}-half"  # in building, of yesterday
    killed.mkdir()
    tomorrow = demo_store(NOW + timedelta(days=1), lambda _: None, built.parent)
    assert not killed.exists()
    assert tomorrow.name == "demo-2026-03-02.sqlite3"
    assert not built.exists()
    with open_store(tomorrow, now=NOW, backups=False) as store:
        assert list_phrases(store)
        demo_store(NOW + timedelta(days=2), lambda _: None, built.parent)
        assert tomorrow.exists()
    demo_store(NOW + timedelta(days=3), lambda _: None, built.parent)
    assert [each.name for each in tmp_path.iterdir()] == ["demo-2026-03-04.sqlite3"]


def test_leaves_nothing_half_built(
    short_past: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Broken off in the middle, it leaves no file behind, and the next call builds it."""

    def broken_off(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(demo, "add_history", broken_off)
        with pytest.raises(KeyboardInterrupt):
            demo_store(NOW, lambda _: None, tmp_path)
    assert list(tmp_path.iterdir()) == []
    assert demo_store(NOW, lambda _: None, tmp_path).exists()


def test_lies_in_a_private_folder(built: Path) -> None:
    """Without a folder it goes to the user's own among the temporary files, closed to others."""
    assert built.parent.parent.name.startswith("demo")
    if os.name == "posix":
        assert built.parent.stat().st_mode & 0o077 == 0


def test_shuns_what_another_put_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where its folder's name is taken by a link or a file, it makes a fresh folder instead."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    first = demo._own_folder()
    first.rmdir()
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    first.symlink_to(elsewhere)
    assert demo._own_folder() not in {first, elsewhere}
    first.unlink()
    first.write_text("taken")
    assert demo._own_folder() != first


@pytest.mark.skipif(os.name != "posix", reason="folders have owners on POSIX")
def test_shuns_a_folder_of_another_user(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder of its name that belongs to someone else is left alone: they could write to it."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    someone = os.getuid() + 1  # to whom this user is someone else
    monkeypatch.setattr(os, "getuid", lambda: someone)
    theirs = tmp_path / f"drillbox-demo-{someone}"
    theirs.mkdir(mode=0o700)
    assert demo._own_folder() != theirs
    assert list(theirs.iterdir()) == []


def test_has_invented_tunes_and_a_gig_to_come(built: Path) -> None:
    """Two of the tunes are on next Friday's, in three days at least; phrases fit into each."""
    with open_store(built, now=NOW, backups=False) as store:
        tunes, (gig,) = list_tunes(store), list_gigs(store)
        index = Phrases(phrases_in_practice(store))
    assert [len(each.tune.chart.bars) for each in tunes] == [32, 16, 12]
    assert (gig.day, [each.title for each in gig.tunes]) == (
        date(2026, 3, 6),
        ["Ninth stop", "Chalk and rain"],
    )
    assert all(index.fits(each.tune) for each in tunes)


TODAY = date(2026, 3, 30)  # the weeks before it hold a change of clocks
ZONE = "Europe/Lisbon"
CARDS = tuple(
    InventedCard(
        id=number * 12 + position + 1,
        phrase_id=number,
        position=position,
        tonic=(number * 7 + position * 5) % 12,
        quarters=16.0,
        goal=120 + number,
        since=number * 4,
        hard=number == 0,  # the one that is there from the first day, and so surely played
        seed=f"line {number}/{position}",
    )
    for number in range(6)
    for position in range(12)
)
BY_ID = {card.id: card for card in CARDS}


# The first and the last day surely, no day away, the others mostly.
EXPECTED_DAYS = 2 + PRACTISES * (DAYS - 2 - len(AWAY))
DEVIATION = (DAYS * PRACTISES * (1 - PRACTISES)) ** 0.5
SEEDS = range(1, 6)  # whichever: what is held here has to hold for any player


@cache
def past_of(seed: int) -> Past:
    """Return a player's past, invented once for all tests."""
    return build_history(CARDS, TODAY, Rules(), ZONE, seed=seed)


@pytest.fixture(params=SEEDS)
def past(request: pytest.FixtureRequest) -> Past:
    return past_of(request.param)


def test_is_the_same_every_time() -> None:
    """The same day and seed give the same past, another seed another one."""
    again = build_history(CARDS, TODAY, Rules(), ZONE, seed=1)
    assert played_in(past_of(1)) == played_in(again)
    assert played_in(past_of(1)) != played_in(past_of(2))


def played_in(past: Past) -> list[object]:
    """Return all of a past but the attempts' ids, which are drawn anew each time."""
    attempts = [replace(each, uid="") for one in past.sessions for each in one.attempts]
    return [past.states, attempts, [replace(each, attempts=()) for each in past.sessions]]


def test_states_are_what_the_attempts_lead_to(past: Past) -> None:
    """Replaying a card's attempts gives exactly its state; cards never attempted have none."""
    made: dict[int, list] = {}
    for session in past.sessions:
        for attempt in session.attempts:
            before = made.setdefault(attempt.card_id, [])
            assert attempt.seen_attempts == len(before)
            before.append(attempt.attempted)
    assert made.keys() == past.states.keys()
    for card_id, attempts in made.items():
        assert replay(BY_ID[card_id].goal, attempts, Rules()) == past.states[card_id]


def test_sittings(past: Past) -> None:
    """Sittings follow one another up to yesterday, a quarter of an hour to twenty minutes long."""
    days = []
    for session in past.sessions:
        day = practice_day(session.started_at, ZONE, 4)
        assert {attempt.attempted.day for attempt in session.attempts} == {day}
        times = [session.started_at, *(a.at for a in session.attempts), session.ended_at]
        assert times == sorted(times)
        assert session.ended_at - session.started_at <= timedelta(minutes=session.minutes + 2)
        days.append(day)
    assert days == sorted(set(days))
    assert (days[0], days[-1]) == (TODAY - timedelta(days=DAYS), TODAY - timedelta(days=1))
    # Four standard deviations: what one past in 16,000 misses by luck.
    assert abs(len(days) - EXPECTED_DAYS) < 4 * DEVIATION
    assert not {TODAY - timedelta(days=DAYS - away) for away in AWAY} & set(days)
    # Of 15, 20 or 20 minutes the player stays for 75 to 110 %, and to the end of a go.
    settled = [s.ended_at - s.started_at for s in past.sessions[15:]]
    assert timedelta(minutes=15) < sum(settled, timedelta()) / len(settled) < timedelta(minutes=19)


def test_starts_keys_in_order(past: Past) -> None:
    """Keys of a phrase start in their order, and none before the phrase is in."""
    opened: list[tuple[date, int]] = []
    for session in past.sessions:
        for attempt in session.attempts:
            if attempt.seen_attempts == 0:
                opened.append((attempt.attempted.day, attempt.card_id))
    for number in range(6):
        positions = [BY_ID[id_].position for _, id_ in opened if BY_ID[id_].phrase_id == number]
        assert positions == list(range(len(positions)))
    for day, card_id in opened:
        assert (day - TODAY).days + DAYS >= BY_ID[card_id].since


def test_is_uneven(past: Past) -> None:
    """B, E and F sharp and the hard phrase are clean less often.

    Their odds are a third or less of the others' (``WEAK_KEYS``, ``HARD_PHRASE``). The ladder
    takes some of that back, as it lets them be played slower.
    """
    for hard, other in compared(past):
        assert hard.goes > 40
        assert hard.clean < other.clean
        assert hard.tempo < other.tempo + 0.05


def test_is_uneven_by_more_than_chance_explains() -> None:
    """Over all these pasts; in a single one luck may hide some of it."""
    for pairs in zip(*(compared(past_of(seed)) for seed in SEEDS), strict=True):
        goes = sum(hard.goes for hard, _ in pairs)
        less = sum(hard.goes * (other.clean - hard.clean) for hard, other in pairs) / goes
        assert less > 3 * (0.25 / goes) ** 0.5


def test_so_many_days_are_practised() -> None:
    """Over all players their mean lies within three standard deviations of a mean."""
    mean = sum(len(past_of(seed).sessions) for seed in SEEDS) / len(SEEDS)
    assert abs(mean - EXPECTED_DAYS) < 3 * DEVIATION / len(SEEDS) ** 0.5


def test_is_slower_where_it_is_hard() -> None:
    """Over all players, whose gifts for a phrase differ, what is hard is played slower."""
    pairs = [compared(past_of(seed)) for seed in SEEDS]
    for kind in (0, 1):
        assert sum(pair[kind][0].tempo for pair in pairs) < sum(
            pair[kind][1].tempo for pair in pairs
        )


class Played(NamedTuple):
    """Goes at some of the cards, their clean share, and their mean tempo over the goal."""

    goes: int
    clean: float
    tempo: float


def compared(past: Past) -> tuple[tuple[Played, Played], tuple[Played, Played]]:
    """Return what was played in weak keys and in others, at the hard phrase and at others."""
    goes = [(BY_ID[a.card_id], a.attempted) for one in past.sessions for a in one.attempts]
    weak = {card.id for card in CARDS if card.tonic in WEAK_KEYS}
    hard = {card.id for card in CARDS if card.hard}

    def played(among: set[int], *, inside: bool) -> Played:
        taken = [(card, go) for card, go in goes if (card.id in among) == inside]
        clean = sum(go.recall >= Recall.CLEAN for _, go in taken)
        tempo = sum(go.tempo / card.goal for card, go in taken)
        return Played(len(taken), clean / len(taken), tempo / len(taken))

    first, second = ((played(ids, inside=True), played(ids, inside=False)) for ids in (weak, hard))
    return first, second


def test_tempo_is_the_one_shown(past: Past) -> None:
    """Each warm go is rated at the tempo that the ladder had come to, or after a miss no faster
    than that was; and hints are few."""
    by_card: dict[int, list] = {}
    for session in past.sessions:
        for attempt in session.attempts:
            by_card.setdefault(attempt.card_id, []).append(attempt.attempted)
    for card_id, attempts in by_card.items():
        after = states(BY_ID[card_id].goal, attempts, Rules())
        for (before, later), state in zip(pairwise(attempts), after, strict=False):
            reached = state.tempo.tempo
            if later.day == before.day and later.tempo != reached:
                assert before.recall <= Recall.ROUGH
                assert later.tempo <= before.tempo
            assert later.tempo <= reached
    goes = [attempted for attempts in by_card.values() for attempted in attempts]
    missed = sum(go.recall <= Recall.ROUGH for go in goes)
    hinted = [go.hint for go in goes if go.hint]
    assert set(hinted) == {1, 2}
    assert all(go.recall <= Recall.ROUGH for go in goes if go.hint)
    assert abs(len(hinted) - 0.2 * missed) < 3 * (missed * 0.2 * 0.8) ** 0.5  # one in five
