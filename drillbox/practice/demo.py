"""The demo: a store of invented phrases with an invented player's eight weeks, apart from yours."""

from __future__ import annotations

import getpass
import os
import random
import shutil
import stat
import tempfile
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from datetime import UTC, date, datetime, time, timedelta
from math import exp, log, log1p
from pathlib import Path
from time import time as seconds_now
from typing import NamedTuple
from zoneinfo import ZoneInfo

from drillbox.memory.candidates import Candidate, Pace, Sitting, candidate, expected_seconds
from drillbox.memory.cards import Attempted, CardState, is_cold, rate, untried
from drillbox.memory.chances import Chances
from drillbox.memory.choose import Go, next_go
from drillbox.memory.days import choose_due
from drillbox.memory.learning import UNLEARNT
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.music.phrases import Phrase
from drillbox.practice.adding import keep, prepare, read_file
from drillbox.practice.preferences import Preferences, preferences_from
from drillbox.practice.tunes import tune_of
from drillbox.shipped import shipped
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.files import backups_folder, beside, scratch_folder
from drillbox.store.opening import open_store
from drillbox.store.sessions import PastSession, add_history
from drillbox.store.tune_rows import NewTune, add_gig, add_tunes
from drillbox.store.values import NewAttempt, PhraseRecord
from drillbox.tick import Tick, silent

DAYS = 56
SEED = 1  # any other gives another past of the same kind
# The player was away for these days, and otherwise misses about one day in five.
AWAY = range(31, 35)
PRACTISES = 0.8
# Log-odds: what this player finds hard (B, E, F sharp), and how practice, time and tempo tell.
WEAK_KEYS = {11: -1.4, 4: -1.1, 6: -1.7}
HARD_PHRASE = -1.5
START, LEARNING, FORGETTING, TEMPO = 0.2, 0.5, 0.5, -4.0


class InventedCard(NamedTuple):
    """A card that the player may drill, from day ``since`` (0 to ``DAYS`` - 1) on.

    ``tonic`` is the key's pitch class; ``seed`` names the card for the spread of due days.
    """

    id: int
    phrase_id: int
    position: int
    tonic: int
    quarters: float
    goal: int
    since: int
    hard: bool
    seed: str


class Past(NamedTuple):
    """Sessions, oldest first, and the state that each card attempted in them came to."""

    sessions: tuple[PastSession, ...]
    states: Mapping[int, CardState]


def build_history(
    cards: Sequence[InventedCard],
    today: date,
    rules: Rules,
    zone: str,
    seed: int = SEED,
    tick: Tick = silent,
) -> Past:
    """Return about eight weeks of drill sessions that end on the day before ``today``.

    The same cards, day, rules, zone and seed always make the same past.
    """
    player = _Player(cards, rules, zone, random.Random(seed))
    for day in range(DAYS):
        if day == 0 or day == DAYS - 1 or (day not in AWAY and player.dice.random() < PRACTISES):
            player.sit_down(day, today - timedelta(days=DAYS - day))
        tick(day + 1, DAYS)
    states = {card_id: state for card_id, state in player.states.items() if state.attempts}
    return Past(tuple(player.sessions), states)


class _Player:
    """The player while the weeks go by: what stands in the store, and what nobody sees."""

    def __init__(
        self, cards: Sequence[InventedCard], rules: Rules, zone: str, dice: random.Random
    ) -> None:
        self.rules = rules
        self.cards, self.zone, self.dice = cards, zone, dice
        self.states = {card.id: untried(card.goal, rules) for card in cards}
        self.pool = {card.id: self._candidate(card) for card in cards}
        self.phrases: dict[int, list[InventedCard]] = {}
        for card in cards:
            self.phrases.setdefault(card.phrase_id, []).append(card)
        self.talent = {phrase: dice.gauss(0.0, 0.35) for phrase in self.phrases}
        self.recalled: Counter[int] = Counter()
        self.load: Counter[date] = Counter()
        self.sessions: list[PastSession] = []

    def _candidate(self, card: InventedCard) -> Candidate:
        return candidate(
            card.id, card.phrase_id, card.position,
            quarters=card.quarters, goal=card.goal, state=self.states[card.id], key=str(card.tonic),
        )  # fmt: skip

    def sit_down(self, number: int, day: date) -> None:
        """Drill on one day until the time is over, or a little less."""
        minutes = self.dice.choice((15, 20, 20))
        patience = self.dice.uniform(0.75, 1.1) * minutes * 60
        wall = time(self.dice.choice((12, 18, 20, 21)), self.dice.randrange(60))
        started = datetime.combine(day, wall, ZoneInfo(self.zone)).astimezone(UTC)
        at, attempts, sitting = started, [], Sitting(minutes)
        cards = {card.id: card for card in self.cards if card.since <= number}
        pool = [self.pool[each] for each in cards]
        chances = Chances(UNLEARNT, pool, day.toordinal(), self.rules)
        while (at - started).total_seconds() < patience:
            go = next_go(pool, sitting, self.rules, Pace(), chances)
            if go is None:
                break
            shown, before = self.pool[go.card_id], self.states[go.card_id]
            seconds = self._seconds(shown, go)
            at += timedelta(seconds=seconds)
            attempted = self._attempt(cards[go.card_id], go.tempo, day)
            attempts.append(
                NewAttempt(go.card_id, 0, at, self.zone, attempted, before.attempts, seconds,
                           self.rules.loops, before.tempo.tempo)
            )  # fmt: skip
            sitting = sitting.rated(shown, go.tempo, attempted.recall, seconds)
            pool = [self.pool[each] for each in cards]
        if attempts:
            ended = at + timedelta(seconds=4)
            self.sessions.append(PastSession(started, ended, minutes, self.zone, tuple(attempts)))

    def _seconds(self, card: Candidate, go: Go) -> float:
        expected = expected_seconds(card.quarters, go.tempo, Pace(), self.rules)
        return round(expected * self.dice.lognormvariate(0.05, 0.15), 1)

    def _attempt(self, card: InventedCard, tempo: int, day: date) -> Attempted:
        """Play a card, rate it, and move it on as a drill does."""
        state = self.states[card.id]
        recall = self._play(card, state, tempo, day)
        hint = 0
        if recall <= Recall.ROUGH and self.dice.random() < 0.2:
            hint = self.dice.choice((1, 1, 2))
        attempted = Attempted(day, recall, tempo, hint, state.due or day, goal=card.goal)
        after = rate(state, attempted, card.goal, self.rules)
        due = self._due(card, state, after, day)
        self.states[card.id] = after._replace(due=due)
        self.pool[card.id] = self._candidate(card)
        self.recalled[card.id] += recall >= Recall.CLEAN
        self.load.update([due])
        if state.due:
            self.load.subtract([state.due])
        return attempted._replace(due=due)

    def _due(self, card: InventedCard, state: CardState, after: CardState, day: date) -> date:
        if state.due and not is_cold(state, day):
            return state.due
        assert after.memory is not None
        siblings = [each for each in self.phrases[card.phrase_id] if each is not card]
        due = {due for each in siblings if (due := self.states[each.id].due)}
        return choose_due(after.memory, self.rules, card.seed, after.attempts, self.load, due)

    def _play(self, card: InventedCard, state: CardState, tempo: int, day: date) -> Recall:
        """Return how it goes: a logistic draw around what the player can do by now."""
        held = self.recalled[card.id]
        elsewhere = sum(self.recalled[other.id] for other in self.phrases[card.phrase_id])
        gone = (day - state.memory.last_day).days if state.memory else 10
        ability = (
            START
            + self.talent[card.phrase_id]
            + WEAK_KEYS.get(card.tonic, 0.3)
            + (HARD_PHRASE if card.hard else 0.0)
            + LEARNING * log1p(held)
            + LEARNING / 3 * log1p(elsewhere)
            - FORGETTING * log1p(gone) / (1 + 0.25 * held)
            + TEMPO * log(tempo / card.goal / 0.8)
        )
        luck = self.dice.random()
        share = 1 / (1 + exp(-ability))
        if luck < share * 0.3:
            return Recall.FLUENT
        if luck < share:
            return Recall.CLEAN
        rough = 0.85 if gone == 0 else 0.55  # what has just been played isn't forgotten
        return Recall.ROUGH if luck < share + (1 - share) * rough else Recall.LOST


HARD = "Second bus"
FORMS = {"Ninth stop": "AABA"}
FRIDAY, SOONEST = 4, 3  # the weekday, and the days until a gig at least
A_DAY = 86_400.0  # seconds
AT_FIRST, AT_A_TIME, EVERY = 4, 2, 6  # phrases on the first day; later so many every so many days
MORNING = time(9)  # before any sitting of that day


def demo_store(
    now: datetime, say: Callable[[str], None], folder: Path | None = None, tick: Tick = silent
) -> Path:
    """Return the demo store's file for this practice day, built where there is none yet.

    It lies in the player's own folder among the temporary files (or in ``folder``) and is kept
    for the day, so that what is drilled in it shows in the next command. ``now`` is aware;
    ``say`` gets the line that tells the player what this is; ``tick`` hears of days invented.
    """
    preferences = preferences_from({})
    day = preferences.today(now)
    path = (folder or _own_folder()) / f"demo-{day}.sqlite3"
    if not path.exists():
        _remove_former(path)
        _build(path, day, now, preferences, tick)
    say(f"Demo, kept in {path}: phrases and player are invented. Your own store is left alone.")
    return path


def _own_folder() -> Path:
    """Return a folder for the demo that only this user can write to."""
    user = os.getuid() if hasattr(os, "getuid") else getpass.getuser()
    folder = Path(tempfile.gettempdir()) / f"drillbox-demo-{user}"
    with suppress(OSError):
        folder.mkdir(mode=0o700, exist_ok=True)
        found = folder.lstat()
        mine = found.st_uid == user or not hasattr(os, "getuid")
        if mine and stat.S_ISDIR(found.st_mode):
            return folder
    return Path(tempfile.mkdtemp(prefix="drillbox-demo-"))  # another's is there, or nothing can be


def _remove_former(path: Path) -> None:
    """Remove the demos of other days, with all beside them, but one that is in use."""
    for former in path.parent.glob("demo-????-??-??.sqlite3"):
        # A WAL is there as long as a program has the store open, and after it was killed.
        wal = beside(former, "-wal")
        if former == path or (wal.exists() and seconds_now() - wal.stat().st_mtime < A_DAY):
            continue
        for end in ("", "-wal", "-shm"):
            beside(former, end).unlink(missing_ok=True)
        shutil.rmtree(backups_folder(former), ignore_errors=True)


def _build(path: Path, day: date, now: datetime, preferences: Preferences, tick: Tick) -> None:
    """Build the store beside its place and move it there, so that none is ever half built."""
    with scratch_folder(path.parent) as aside:
        made = aside / path.name
        with open_store(made, now=now, backups=False) as store:
            cards = _bring_in(store, day, preferences)
            past = build_history(cards, day, preferences.rules, preferences.zone, tick=tick)
            add_history(store, past.sessions, past.states)
            _put_down_a_gig(store, day, now)
        made.replace(path)


def _put_down_a_gig(store: Store, day: date, now: datetime) -> None:
    """Store the demo tunes and a gig with two of them, on a Friday to come."""
    tunes = [
        NewTune(tune_of(phrase, None, FORMS.get(phrase.title, "")), ("quartet",))
        for phrase in _seeds("tunes.abc")
    ]
    records = add_tunes(store, tunes, now)
    friday = day + timedelta(days=(FRIDAY - day.weekday() - SOONEST) % 7 + SOONEST)
    add_gig(store, "Friday", friday, records[:2], now)


def _seeds(name: str) -> list[Phrase]:
    """Return what a file of the demo's holds."""
    path = shipped("seeds_demo") / name
    read = read_file(path, part=None, tempo=None, title=None, key=None)
    return [tune.phrase for tune in read.tunes if tune.phrase]


def _bring_in(store: Store, last: date, preferences: Preferences) -> list[InventedCard]:
    """Store the demo phrases, a few at a time over the first weeks, and return their cards."""
    phrases = _seeds("lines.abc")
    cards: list[InventedCard] = []
    for since, number in _arrivals(len(phrases)):
        batch, phrases = phrases[:number], phrases[number:]
        day = last - timedelta(days=DAYS - since)
        at = datetime.combine(day, MORNING, ZoneInfo(preferences.zone))
        records = keep(store, [prepare(each, preferences) for each in batch], at)
        cards += _cards(store, records, since)
    return cards


def _arrivals(count: int) -> list[tuple[int, int]]:
    """Return on which day how many of so many phrases come in."""
    later = range(AT_FIRST, count, AT_A_TIME)
    return [(0, AT_FIRST), *((EVERY * (n + 1), AT_A_TIME) for n, _ in enumerate(later))]


def _cards(store: Store, records: Sequence[PhraseRecord], since: int) -> list[InventedCard]:
    return [
        InventedCard(
            id=card.id,
            phrase_id=card.phrase_id,
            position=card.position,
            tonic=card.key.tonic.pitch_class,
            quarters=float(card.chart.length),
            goal=card.goal,
            since=since,
            hard=card.title == HARD,
            seed=f"{card.title}/{card.key.text()}",
        )
        for record in records
        for card in cards_of(store, record.id)
    ]
