"""Keep the store safe: back it up, look it over, put a backup in its place; export and import it.

An export is the whole log in open formats; an import merges one, or another store.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from drillbox.errors import BadInput, NotFound, StoreFailure
from drillbox.music.charts import chart_from
from drillbox.music.keys import parse_key
from drillbox.music.phrases import Phrase, line_from
from drillbox.output import harmless
from drillbox.practice.preferences import Preferences, preferences_from
from drillbox.store.access import Store, damage
from drillbox.store.backups import back_up, backup_of, fault_in, stored_room
from drillbox.store.checks import Finding, check_store, damage_in, faults_in_reading, mend_tags
from drillbox.store.documents import COLUMNS, Members, attempts_csv, snapshot, text_of
from drillbox.store.files import (
    ROOM,
    Backup,
    looking_at,
    real_path,
    refuse_unplain,
    scratch_folder,
    write_whole,
)
from drillbox.store.json_reading import members
from drillbox.store.opening import HEADER, FileStore, open_store
from drillbox.store.reckoning import fit_charts, reckon_all
from drillbox.store.restoring import copy_store, restore_backup
from drillbox.store.setting_rows import set_setting
from drillbox.store.values import Merged
from drillbox.tick import Tell, Tick, silent, stage


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check found. ``damaged``: pages or references.

    ``mended`` counts cards that were brought to the state their attempts lead to.
    """

    findings: tuple[Finding, ...]
    mended: int = 0

    @property
    def damaged(self) -> bool:
        """Return whether the store should be put aside for a backup."""
        return any(each.grave for each in self.findings)

    @property
    def fault(self) -> Finding | None:
        """Return what keeps the store from being read, if anything does."""
        return next((each for each in self.findings if each.grave or each.unreadable), None)

    @property
    def lost(self) -> bool:
        """Return whether there is something that only a backup brings back."""
        return any(not each.fixable for each in self.findings)


def make_backup(store: Store, now: datetime) -> Backup:
    """Back the store up now; the backup stays until the player deletes it."""
    return back_up(store.engine, store.place, now, "asked")


def room_for_backups(place: Path) -> int:
    """Return the megabytes that all backups of a store may take; it needn't be readable."""
    with looking_at(place):
        return stored_room(place) if place.exists() else ROOM


def check(
    store: Store, preferences: Preferences, tick: Tick = silent, *, replaying: bool = True
) -> Checked:
    """Look the whole store over; nothing is changed. ``tick`` hears how far it is."""
    found = tuple(check_store(store, tick, replaying=replaying))
    unusable = tuple(
        Finding(f"the setting {name!r} can't be used: {value}", grave=False, setting=True)
        for name, value in preferences.left_out.items()
    )
    return Checked(found + unusable)


def fault_of(store: Store) -> StoreFailure | None:
    """Return the failure of a store that holds what can't be read, None for one that is whole."""
    try:
        fault = Checked(tuple(faults_in_reading(store))).fault
    except StoreFailure as problem:
        return problem
    return failure_of(store, fault) if fault else None


def failure_of(store: Store, fault: Finding) -> StoreFailure:
    """Return the failure of a store that holds what can't be read."""
    if isinstance(store, FileStore):
        return damage(store.place, fault.text)
    return StoreFailure(
        f"The store {store.name} can't be read ({fault.text})",
        "Ask whoever runs the server for a backup.",
    )


def mend(store: Store, preferences: Preferences, now: datetime, tick: Tick = silent) -> Checked:
    """Back a file up, fix what can be fixed, and check again what that hasn't replayed.

    Settings that can't be used are removed, charts whose chords don't fill their bars are
    fitted, tags that can't be typed are cleaned, and every card is reckoned from its attempts.
    A damaged store is left as it is.
    """
    if damage_in(store):
        return check(store, preferences)
    if isinstance(store, FileStore):
        make_backup(store, now)
    for name in preferences.left_out:
        set_setting(store, name, None, now)
    fit_charts(store)
    mend_tags(store)
    settled = replace(preferences, left_out={})
    moved = reckon_all(store, tick=stage(tick, 0, 2))
    left = check(store, settled, stage(tick, 1, 2), replaying=False)
    return replace(left, mended=moved)


def restore(place: Path, named: str, now: datetime, tell: Tell) -> Path | None:
    """Put a backup, named by path or as the list shows it, in the place of the store.

    ``tell`` hears of changes that can't be read in a damaged log. Returns where the former
    store was kept, None if there was none. Raises NotFound if there is no such backup,
    StoreFailure if it isn't whole.
    """
    return restore_backup(place, backup_of(place, named), now, tell)


JSON_NAME, CSV_NAME, ABC_NAME = "drillbox.json", "attempts.csv", "phrases.abc"
SCHEMA_NAME = "drillbox.schema.json"


@dataclass(frozen=True, slots=True)
class Exported:
    """What was written, and where. ``unwritten`` names phrases whose line ABC can't hold."""

    files: tuple[Path, ...]
    phrases: int
    attempts: int
    unwritten: tuple[str, ...] = ()


def export_store(
    store: Store,
    to: Path,
    write_abc: Callable[[Phrase, int], str],
    tick: Tick = silent,
) -> Exported:
    """Write the store to a file (JSON) or, where ``to`` doesn't end in .json, to a folder.

    The folder gets JSON and its schema, a CSV of attempts and an ABC of phrases. The same
    store gives the same bytes. A former export is replaced, anything else is left alone:
    raises BadInput where another file is in the way or it can't be written. ``tick`` hears
    how many attempts of how many were written, those of the CSV as well.
    """
    from drillbox.store.checked import schema  # pydantic, only where a document is written or read

    unwritten: list[str] = []
    folder = to.suffix.lower() != ".json"
    paths = [to / name for name in (JSON_NAME, SCHEMA_NAME, CSV_NAME, ABC_NAME)] if folder else [to]
    for path in paths:
        _refuse_others(path)
    with snapshot(store) as found:
        phrases, attempts = found.counts()
        told = _Telling(tick, attempts * (1 + folder))
        contents = [text_of(told.of(found.members()))]
        if folder:
            contents += [
                iter((schema(),)),
                attempts_csv(found, told.tick),
                phrases_abc(found.phrases(), write_abc, unwritten),
            ]
        try:
            for path, content in zip(paths, contents, strict=True):
                path.parent.mkdir(parents=True, exist_ok=True)
                write_whole(path, (words.encode() for words in content), private=True)
        except OSError as problem:
            raise BadInput(
                f"Can't write to {str(to)!r}: {problem.strerror}", "Name another place."
            ) from problem
    return Exported(tuple(paths), phrases, attempts, tuple(unwritten))


class _Telling:
    """Counts what was written, and tells of it."""

    def __init__(self, tick: Tick, of: int) -> None:
        self._tick, self._of, self._done = tick, of, 0

    def tick(self) -> None:
        """Count one more attempt."""
        self._done += 1
        self._tick(self._done, self._of)

    def of(self, members: Iterator[tuple[str, Any]]) -> Iterator[tuple[str, Any]]:
        """Yield the members and count the attempts among them."""
        for name, value in members:
            if name == "attempts":
                self.tick()
            yield name, value


_SERVER = re.compile(r"[a-z0-9+]+:/", re.IGNORECASE)  # an address that came as a path lost a slash
_FIRST = {JSON_NAME: '{\n "format": "drillbox"', CSV_NAME: ",".join(COLUMNS), ABC_NAME: "%abc-2.1"}


def _refuse_others(path: Path) -> None:
    """Raise BadInput if something else than a former export is at ``path``."""
    refuse_unplain(path)
    with looking_at(path):
        if not path.exists():
            return
    expected = _FIRST.get(path.name, _FIRST[JSON_NAME])
    if path.name == SCHEMA_NAME:
        expected = "{"
    try:
        with path.open(encoding="utf-8", errors="replace") as file:
            former = file.read(len(expected)) == expected
    except OSError:
        former = False
    if not former:
        raise BadInput(
            f"{str(path)!r} is there already, and isn't an export", "Name another place."
        )


def phrases_abc(
    phrases: Iterable[Mapping[str, Any]],
    write_abc: Callable[[Phrase, int], str],
    unwritten: list[str],
) -> Iterator[str]:
    """Yield every phrase of a document as a tune of one ABC 2.1 file, numbered from 1.

    A phrase whose line ABC can't hold is written without it; its title goes to ``unwritten``.
    """
    yield "%abc-2.1\n"
    for number, each in enumerate(phrases, start=1):
        phrase = Phrase(
            each["title"],
            parse_key(each["key"]),
            each["tempo"],
            chart_from(each["chart"]),
            line_from(each["line"]),
            each["double_time"],
        )
        try:
            tune = write_abc(phrase, number)
        except BadInput:
            unwritten.append(phrase.title)
            tune = write_abc(Phrase(phrase.title, phrase.key, phrase.tempo, phrase.chart), number)
        yield f"\n{harmless(tune)}"  # whoever wrote the store: a pager may print it


def import_export(
    store: Store,
    source: Path,
    now: datetime,
    *,
    bring_back: bool = False,
    tell: Tell = silent,
    tick: Tick = silent,
) -> Merged:
    """Merge an export (its file or folder) or another store into this one, after a backup.

    Settings that come along are in force at once. ``tell`` hears of changes that can't be read
    in another store's damaged log. Raises NotFound if there is no such thing,
    BadInput if it is something else, StoreFailure if the other store can't be read.
    """
    from drillbox.store.merging import merge  # pydantic, as above

    if _SERVER.match(str(source)):
        remedy = "Export it first: drillbox --store ADDRESS store export FILE.json"
        raise BadInput(f"{str(source)!r} is a server", remedy)
    with looking_at(source):
        path = real_path(source / JSON_NAME if source.is_dir() else source)
        if not path.is_file():
            raise NotFound(f"There is no export {str(source)!r}", "Check the name and the folder.")
    # Never opened by a second handle: closing that would drop this process's locks on it.
    if isinstance(store, FileStore) and path.samefile(store.place):
        raise BadInput(f"{str(path)!r} is the store itself", "Name another store, or an export.")
    try:
        with path.open("rb") as file:
            is_store = file.read(len(HEADER)) == HEADER
        with (
            _members_of_store(path, now, tell)
            if is_store
            else nullcontext(_members_of_file(path)) as members
        ):
            back = now if bring_back else None
            store.keep_before("import", now)
            return merge(store, members, preferences_from, bring_back=back, tick=tick)
    except OSError as problem:
        raise BadInput(
            f"Can't read {str(path)!r}: {problem.strerror}", "Check the file."
        ) from problem


def _members_of_file(path: Path) -> Members:
    def read() -> Iterator[tuple[str, Any]]:
        # A mark of the byte order, which some editors put there, is no part of it.
        with path.open(encoding="utf-8-sig") as file:
            yield from members(file)

    return read


@contextmanager
def _members_of_store(path: Path, now: datetime, tell: Tell) -> Iterator[Members]:
    """Give another store's members; a copy is migrated if need be, never the store."""
    if fault := fault_in(path, indexes=True):
        raise BadInput(
            f"{str(path)!r} isn't a drillbox store, or a damaged one ({fault})",
            "Use a store that can be opened, or an export of it.",
        )
    with scratch_folder() as folder:
        copy = folder / "store.sqlite3"
        copy_store(path, copy, now, tell)
        with open_store(copy, now=now, backups=False) as other, snapshot(other) as found:
            yield found.members
