"""The demo: a store of invented phrases with an invented player's eight weeks, apart from yours."""

from __future__ import annotations

import getpass
import os
import shutil
import stat
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from datetime import time as hour
from pathlib import Path
from zoneinfo import ZoneInfo

from drillbox.music.phrases import Phrase
from drillbox.practice.invented import DAYS, InventedCard, build_history
from drillbox.practice.phrases.intake import keep, prepare
from drillbox.practice.phrases.typed_or_file import read_file
from drillbox.practice.settings.preferences import Preferences, preferences_from
from drillbox.practice.tunes.tune_intake import tune_of
from drillbox.shipped import shipped
from drillbox.store.access import Store
from drillbox.store.backup_files import backups_folder
from drillbox.store.card_rows import cards_of
from drillbox.store.gig_rows import add_gig
from drillbox.store.history import add_history
from drillbox.store.litter import scratch
from drillbox.store.opening import open_store
from drillbox.store.places import beside
from drillbox.store.tune_rows import NewTune, add_tunes
from drillbox.store.values import PhraseRecord
from drillbox.tick import Tick, silent

HARD = "Second bus"
FORMS = {"Ninth stop": "AABA"}
FRIDAY, SOONEST = 4, 3  # the weekday, and the days until a gig at least
A_DAY = 86_400.0  # seconds
AT_FIRST, AT_A_TIME, EVERY = 4, 2, 6  # phrases on the first day; later so many every so many days

MORNING = hour(9)  # before any sitting of that day


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
    say(f"Demo: the phrases and the player are invented. Your own store is left alone ({path}).")
    return path


def _own_folder() -> Path:
    """Return a folder for the demo that only this user can write to."""
    user = os.getuid() if hasattr(os, "getuid") else getpass.getuser()
    folder = Path(tempfile.gettempdir()) / f"drillbox-demo-{user}"
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        found = folder.lstat()
    except OSError:
        return Path(tempfile.mkdtemp(prefix="drillbox-demo-"))
    mine = found.st_uid == user or not hasattr(os, "getuid")
    if mine and stat.S_ISDIR(found.st_mode):
        return folder
    return Path(tempfile.mkdtemp(prefix="drillbox-demo-"))  # another's folder of that name


def _remove_former(path: Path) -> None:
    """Remove the demos of other days, with all beside them, but one that is in use."""
    for former in path.parent.glob("demo-????-??-??.sqlite3"):
        # A WAL is there as long as a program has the store open, and after it was killed.
        wal = beside(former, "-wal")
        if former == path or (wal.exists() and time.time() - wal.stat().st_mtime < A_DAY):
            continue
        for end in ("", "-wal", "-shm"):
            beside(former, end).unlink(missing_ok=True)
        shutil.rmtree(backups_folder(former), ignore_errors=True)


def _build(path: Path, day: date, now: datetime, preferences: Preferences, tick: Tick) -> None:
    """Build the store beside its place and move it there, so that none is ever half built."""
    with scratch(path.parent) as aside:
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
