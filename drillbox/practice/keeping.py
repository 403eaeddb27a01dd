"""Keep the store safe: back it up, look it over, put a backup in its place."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from drillbox.errors import StoreFailure
from drillbox.memory.rules import Rules
from drillbox.practice.preferences import Preferences
from drillbox.store.access import Store, damage
from drillbox.store.backups import back_up, backup_of, stored_room
from drillbox.store.checks import Finding, check_store
from drillbox.store.files import ROOM, Backup, list_backups, newest_backup
from drillbox.store.opening import FileStore
from drillbox.store.reckoning import fit_charts, reckon_all
from drillbox.store.restoring import restore_backup
from drillbox.store.setting_rows import set_setting
from drillbox.tick import Tell, Tick, silent

__all__ = [
    "Backup",
    "Checked",
    "backups_of",
    "check",
    "make_backup",
    "mend",
    "restore",
    "room_for_backups",
]


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check found. ``damaged``: pages or references; ``newest`` is then what to restore.

    ``mended`` counts cards that were brought to the state their attempts lead to.
    """

    findings: tuple[Finding, ...]
    newest: Backup | None
    mended: int = 0

    @property
    def damaged(self) -> bool:
        """Return whether the store should be put aside for a backup."""
        return any(each.grave for each in self.findings)


def make_backup(store: Store, now: datetime) -> Backup:
    """Back the store up now; the backup stays until the player deletes it."""
    return back_up(store.engine, store.place, now, "asked")


def backups_of(place: Path) -> list[Backup]:
    """Return the backups of the store at ``place``, newest first; it needn't be readable."""
    return list_backups(place)


def room_for_backups(place: Path) -> int:
    """Return the megabytes that all backups of a store may take; it needn't be readable."""
    return stored_room(place) if place.exists() else ROOM


def check(
    store: Store, preferences: Preferences, tick: Tick = silent, *, replaying: bool = True
) -> Checked:
    """Look the whole store over; nothing is changed. ``tick`` hears of cards replayed."""
    found = tuple(check_store(store, preferences.rules, tick, replaying=replaying))
    grave = any(each.grave for each in found)
    unusable = tuple(
        Finding(f"the setting {name!r} can't be used: {value}", grave=False, setting=True)
        for name, value in preferences.left_out.items()
    )
    return Checked(found + unusable, newest_backup(store.place) if grave else None)


def fault_of(store: Store) -> StoreFailure | None:
    """Return the failure of a store that holds what can't be read, None for one that is whole."""
    try:
        wrong = [each for each in check_store(store, Rules()) if each.grave or each.unreadable]
    except StoreFailure as problem:
        return problem
    if not wrong:
        return None
    if isinstance(store, FileStore):
        return damage(store.place, wrong[0].text)
    return StoreFailure(
        f"The store {store.name} can't be read ({wrong[0].text})",
        "Ask who keeps the server for a backup.",
    )


def mend(store: Store, preferences: Preferences, now: datetime, tick: Tick = silent) -> Checked:
    """Back a file up, fix what can be fixed, and check again what that hasn't replayed.

    Settings that can't be used are removed, charts whose chords don't fill their bars are
    fitted, and every card is reckoned from its attempts. A damaged store is left as it is.
    """
    if (found := check(store, preferences, replaying=False)).damaged:
        return found
    if isinstance(store, FileStore):
        make_backup(store, now)
    for name in preferences.left_out:
        set_setting(store, name, None, now)
    fit_charts(store)
    settled = replace(preferences, left_out={})
    moved = reckon_all(store, preferences.rules, tick=tick)
    return replace(check(store, settled, replaying=False), mended=moved)


def restore(place: Path, named: str, now: datetime, tell: Tell) -> Path | None:
    """Put a backup, named by path or as the list shows it, in the place of the store.

    ``tell`` hears of changes that can't be read in a damaged log. Returns where the former
    store was kept, None if there was none. Raises StoreFailure if there is no such backup or it
    isn't whole.
    """
    return restore_backup(place, backup_of(place, named), now, tell)
