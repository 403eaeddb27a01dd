"""Merge a document into the store: read and checked first, then written in one transaction.

Which side's value stays is said for every field in the table of DEVELOPERS.md.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any, Protocol

from sqlalchemy import Connection

from drillbox.errors import UPDATE, BadInput
from drillbox.memory.rules import WEIGHTS, Rules
from drillbox.music.moving.transposition import Range
from drillbox.store.attempt_merging import merge_attempts, merge_sessions
from drillbox.store.checked import (
    PARTS,
    DocumentAttempt,
    DocumentDeleted,
    DocumentGig,
    DocumentPhrase,
    DocumentSession,
    DocumentTune,
    Head,
    checked,
    checked_head,
    unusable,
)
from drillbox.store.documents import FORMAT, VERSION, Members
from drillbox.store.laying import lay_all
from drillbox.store.phrase_merging import PhraseMerging, Place
from drillbox.store.reckoning import reckon
from drillbox.store.setting_rows import (
    OF_ONE_COMPUTER,
    Set,
    by_present_name,
    changes_in,
    write_setting,
)
from drillbox.store.tune_merging import TuneMerging
from drillbox.store.twins import uids_of
from drillbox.store.values import Merged
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    from drillbox.store.access import Store


class SettingsInForce(Protocol):
    """Settings as they are in force: what is usable of them, and what follows from it."""

    @property
    def values(self) -> Mapping[str, Any]:
        """Return every setting by name."""

    @property
    def left_out(self) -> Mapping[str, str]:
        """Return what can't be used, as text, by name."""

    @property
    def rules(self) -> Rules:
        """Return the numbers that memory decides by."""

    @property
    def sounding_range(self) -> Range | None:
        """Return the sounding range of the player's instrument, if there is one."""


SettingsReader = Callable[[Mapping[str, object]], SettingsInForce]
"""Reads stored settings, by the same check as typed ones."""


@dataclass(slots=True)
class _Read:
    """A document that was read and checked, but for its attempts, which are too many to keep."""

    head: dict[str, Any] = field(default_factory=dict)
    phrases: list[DocumentPhrase] = field(default_factory=list)
    deleted: list[DocumentDeleted] = field(default_factory=list)
    sessions: list[DocumentSession] = field(default_factory=list)
    tunes: list[DocumentTune] = field(default_factory=list)
    gigs: list[DocumentGig] = field(default_factory=list)
    deleted_tunes: list[DocumentDeleted] = field(default_factory=list)
    deleted_gigs: list[DocumentDeleted] = field(default_factory=list)
    attempts: int = 0
    places: set[Place] = field(default_factory=set)
    sittings: set[str] = field(default_factory=set)


def merge(
    store: Store,
    members: Members,
    in_force: SettingsReader,
    *,
    bring_back: datetime | None = None,
    tick: Tick = silent,
) -> Merged:
    """Add what the store lacks of a document, and what was changed there later; return what.

    Things are the same if one of their uids is, and phrases also if title, written key, chart
    and line are. All of the document is checked before anything is written, in one transaction.
    Every card that got attempts, another goal or other rules is replayed; ``in_force`` says what
    settings come to.
    What was deleted here stays so, unless it is brought back, at the time ``bring_back``.
    ``tick`` hears how many attempts, then cards, of how many are done. Raises BadInput, naming
    the field, where the document can't be used.
    """
    read = _read(members)
    head = checked_head(read.head)
    _check_references(read)
    merged = Merged()
    with store.write() as connection:
        before = in_force(_values(connection))
        written = _merge_settings(connection, head, in_force, merged)
        now = in_force(_values(connection))
        for name in written:
            was, is_now = before.values.get(name), now.values.get(name)
            if name == WEIGHTS or was != is_now:
                merged.settings[name] = was, is_now
        phrases = PhraseMerging(connection, now.sounding_range, merged, bring_back)
        placed = phrases.merge(read.phrases, read.deleted)
        sessions = merge_sessions(connection, read.sessions, merged)
        attempts = _attempts(members, read.attempts, tick)
        touched = merge_attempts(connection, attempts, placed.cards, sessions, merged)
        if now.sounding_range != before.sounding_range:
            lay_all(connection, now.sounding_range)
        tunes = TuneMerging(connection, merged, bring_back=bring_back is not None)
        numbers = tunes.merge_tunes(read.tunes, read.deleted_tunes)
        tunes.merge_gigs(read.gigs, read.deleted_gigs, numbers)
        others = _reckoned_by(now.rules) != _reckoned_by(before.rules)
        wanted = None if others else touched | _cards_of(connection, placed.unreckoned)
        reckon(connection, wanted, tick)
    return merged


def _read(members: Members) -> _Read:
    read, numbers = _Read(), dict.fromkeys(PARTS, 0)
    for name, value in _sound(members):
        if name not in PARTS:
            if name in {"format", "version"}:
                _check_format(name, value)
            read.head[name] = value
            continue
        numbers[name] += 1
        item = checked(name, numbers[name], value)
        if isinstance(item, DocumentAttempt):
            read.attempts += 1
            read.places.add((item.phrase, item.key.number))
            read.sittings.add(item.session)
        else:
            getattr(read, name).append(item)
    return read


def _sound(members: Members) -> Iterator[tuple[str, Any]]:
    """Yield the members; raise BadInput where the document can't even be read."""
    try:
        yield from members()
    except ValueError as problem:
        raise unusable(f"it isn't one: {problem}") from None


def _check_format(name: str, value: object) -> None:
    if name == "format" and value != FORMAT:
        raise unusable("it doesn't say that it is one of drillbox")
    if name == "version" and isinstance(value, int) and value > VERSION:
        what = f"The export is of version {value}, and this drillbox reads up to {VERSION}"
        raise BadInput(what, UPDATE)


def _check_references(read: _Read) -> None:
    """Raise BadInput if two things go by one uid, or an attempt points at nothing."""
    for name, items in (
        ("phrases", read.phrases),
        ("sessions", read.sessions),
        ("tunes", read.tunes),
        ("gigs", read.gigs),
    ):
        uids = Counter(uid for item in items for uid in uids_of(item))
        if uids and max(uids.values()) > 1:
            raise unusable(f"two of its {name} have the same uid")
    places = {(phrase.uid, card.key.number) for phrase in read.phrases for card in phrase.cards}
    if read.places - places:
        raise unusable("an attempt is at a phrase or a key that isn't in it")
    if read.sittings - {session.uid for session in read.sessions}:
        raise unusable("an attempt is of a drill session that isn't in it")


def _attempts(members: Members, count: int, tick: Tick) -> Iterator[DocumentAttempt]:
    """Yield the attempts of a document that was checked once already."""
    number = 0
    for name, value in _sound(members):
        if name == "attempts":
            number += 1
            tick(number, count)
            yield checked(name, number, value)


def _reckoned_by(rules: Rules) -> tuple[object, ...]:
    """Return the rules by which cards are reckoned from their attempts."""
    return rules.tempo, rules.weights, rules.owned_days


def _values(connection: Connection) -> dict[str, Any]:
    return {each.name: each.value for each in changes_in(connection) if each.value is not None}


def _merge_settings(
    connection: Connection, head: Head, in_force: SettingsReader, merged: Merged
) -> list[str]:
    """Take over settings that were set later there, and return their names; those that can't be
    used are left out."""
    mine = {each.name: each for each in changes_in(connection)}
    settings, changed = by_present_name(head.settings), by_present_name(head.settings_changed)
    found, written = in_force(settings), []
    for name in sorted(settings.keys() | changed.keys()):
        value, at = settings.get(name), changed.get(name)
        if name in found.left_out or name not in {*found.values, WEIGHTS}:
            merged.left_out.append(name)
        elif setting_wins(Set(name, value, at), mine.get(name)):
            write_setting(connection, Set(name, value, at))
            written.append(name)
    return written


def setting_wins(theirs: Set, mine: Set | None) -> bool:
    """Return whether another store's setting replaces one's own: it was set later.

    One that fits only that computer fills a gap, and replaces nothing.
    """
    if theirs.name in OF_ONE_COMPUTER:
        return mine is None and theirs.value is not None
    if mine is None:
        return theirs.value is not None or theirs.at is not None
    if theirs.at is None:  # nobody knows when: it fills a gap, and replaces nothing
        return mine.at is None and mine.value is None and theirs.value is not None
    if mine.at is None or theirs.at > mine.at:
        return True
    # Set at the same moment: whoever merges first, the same value stays.
    return theirs.at == mine.at and _text(theirs.value) > _text(mine.value)


def _text(value: object) -> str:
    return json.dumps(value, sort_keys=True)


def _cards_of(connection: Connection, phrase_ids: set[int]) -> set[int]:
    from drillbox.store.phrase_edits import card_ids

    return {card for each in phrase_ids for card in card_ids(connection, each).values()}
