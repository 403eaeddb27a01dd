"""Merge a document into the store: what is missing is added, cards are reckoned anew."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection
from sqlalchemy.exc import IntegrityError, StatementError

from drillbox.errors import UPDATE, BadInput
from drillbox.memory.cards import CardState
from drillbox.memory.recall import MemoryState, Recall
from drillbox.memory.rules import Rules
from drillbox.memory.tempo import TempoState
from drillbox.store.documents import FORMAT, VERSION, day, instant
from drillbox.store.phrase_merging import Place, merge_phrases
from drillbox.store.reckoning import log_of, put, replayed
from drillbox.store.sql import change, query

if TYPE_CHECKING:
    from drillbox.store.opening import Store


@dataclass(slots=True)
class Merged:
    """What a merge added. ``renamed`` holds titles that were taken, each with its new one."""

    phrases: int = 0
    sessions: int = 0
    attempts: int = 0
    undone: int = 0
    settings: int = 0
    renamed: dict[str, str] = field(default_factory=dict)

    @property
    def nothing(self) -> bool:
        """Return whether the store held all of it already."""
        return not (self.phrases or self.sessions or self.attempts or self.undone or self.settings)


def merge(store: Store, document: Mapping[str, Any], rules: Rules) -> Merged:
    """Add what the store lacks of a document, in one transaction; return what that was.

    Things are the same if their uid is, and phrases also if title, written key, chart and
    line are. Attempts are united and stay undone where either side undid them. A card that
    got attempts takes over the document's state if it has no others, and else is replayed by
    ``rules``. What both sides have otherwise stays as the store has it. Raises BadInput if it
    is no such document; nothing is changed then.
    """
    check_format(document)
    merged = Merged()
    try:
        with store.write() as connection:
            cards = merge_phrases(connection, document["phrases"], merged)
            sessions = _merge_sessions(connection, document["sessions"], merged)
            touched = _merge_attempts(connection, document["attempts"], cards, sessions, merged)
            _reckon(connection, touched, document, cards, rules)
            _merge_settings(connection, document["settings"], merged)
    except BadInput as problem:  # a key that is none
        raise _no_document(problem.what) from problem
    except (LookupError, TypeError, ValueError, AttributeError, ArithmeticError) as problem:
        raise _no_document(f"{type(problem).__name__}: {problem}") from problem
    except (IntegrityError, StatementError) as problem:
        raise _no_document(str(problem.orig or problem)) from problem
    return merged


def check_format(document: Mapping[str, Any]) -> None:
    """Raise BadInput unless this is a document of a version that can be read."""
    if not isinstance(document, Mapping) or document.get("format") != FORMAT:
        raise _no_document("it doesn't say that it is one")
    version = document.get("version")
    if not isinstance(version, int) or version > VERSION:
        raise BadInput(
            f"The export is of version {version!r}, and this drillbox reads up to {VERSION}",
            UPDATE,
        )


def _no_document(why: str) -> BadInput:
    return BadInput(
        f"This is no export of drillbox ({why[:200]}); nothing was changed",
        "Give a file or folder that was written by: drillbox store export.",
    )


_SESSION = """
INSERT INTO drill_session (uid, started_at, ended_at, minutes, zone, kind)
VALUES (:uid, :started_at, :ended_at, :minutes, :zone, :kind) RETURNING id
"""
_END = "UPDATE drill_session SET ended_at = :ended_at WHERE uid = :uid AND ended_at IS NULL"


def _merge_sessions(
    connection: Connection, sessions: list[dict[str, Any]], merged: Merged
) -> dict[str, int]:
    found = connection.execute(query("SELECT uid, id FROM drill_session")).all()
    known: dict[str, int] = dict(map(tuple, found))
    for each in sessions:
        values = {
            **{name: each[name] for name in ("uid", "zone", "kind")},
            "minutes": int(each["minutes"]),
            "started_at": instant(each["started_at"]),
            "ended_at": instant(each["ended_at"]),
        }
        if each["uid"] not in known:
            known[each["uid"]] = connection.execute(change(_SESSION), values).scalar_one()
            merged.sessions += 1
        elif values["ended_at"]:
            connection.execute(change(_END), {name: values[name] for name in ("ended_at", "uid")})
    return known


_ATTEMPT = """
INSERT INTO attempt (uid, card_id, session_id, at, zone, day, recall, tempo, hint, seconds, loops,
                     in_round, first_of_day, due_after, undone_at)
VALUES (:uid, :card_id, :session_id, :at, :zone, :day, :recall, :tempo, :hint, :seconds, :loops,
        :in_round, :first_of_day, :due_after, :undone_at)
"""
_UNDO = "UPDATE attempt SET undone_at = :undone_at WHERE uid = :uid"


def _merge_attempts(
    connection: Connection,
    attempts: list[dict[str, Any]],
    cards: Mapping[tuple[str, str], Place],
    sessions: Mapping[str, int],
    merged: Merged,
) -> set[int]:
    """Add the attempts that are missing; return the cards that changed by it."""
    found = connection.execute(query("SELECT uid, undone_at IS NOT NULL FROM attempt")).all()
    known: dict[str, bool] = dict(map(tuple, found))
    new, undone, touched = [], [], set()
    for each in attempts:
        place = cards[each["phrase"], each["key"]]
        if each["uid"] not in known:
            new.append(_values(each, place.card_id, sessions[each["session"]]))
            known[each["uid"]] = each["undone_at"] is not None
        elif each["undone_at"] and not known[each["uid"]]:
            undone.append({"uid": each["uid"], "undone_at": instant(each["undone_at"])})
            known[each["uid"]] = True
        else:
            continue
        touched.add(place.card_id)
    if new:
        connection.execute(change(_ATTEMPT), new)
    if undone:
        connection.execute(change(_UNDO), undone)
    merged.attempts, merged.undone = len(new), len(undone)
    return touched


def _values(attempt: Mapping[str, Any], card_id: int, session_id: int) -> dict[str, Any]:
    return {
        **{name: attempt[name] for name in ("uid", "zone", "in_round")},
        # SQLite would take any text for a number.
        **{name: int(attempt[name]) for name in ("tempo", "hint", "loops")},
        "seconds": float(attempt["seconds"]),
        "card_id": card_id,
        "session_id": session_id,
        "at": instant(attempt["at"]),
        "day": day(attempt["day"]),
        "recall": int(Recall[attempt["recall"].upper()]),
        "first_of_day": False,  # reckoned with the card
        "due_after": day(attempt["due_after"]),
        "undone_at": instant(attempt["undone_at"]),
    }


def _reckon(
    connection: Connection,
    touched: set[int],
    document: Mapping[str, Any],
    cards: Mapping[tuple[str, str], Place],
    rules: Rules,
) -> None:
    """Bring every card that changed to the state that its united log gives."""
    theirs = defaultdict(set)
    for each in document["attempts"]:
        if each["undone_at"] is None:
            theirs[cards[each["phrase"], each["key"]].card_id].add(each["uid"])
    places = {place.card_id: place for place in cards.values()}
    for card_id in sorted(touched):
        log = log_of(connection, card_id)
        place = places[card_id]
        state = replayed(log, place.goal, rules)
        told = _state(place.document, state)
        same = {row.uid for row in log} == theirs[card_id] and told.attempts == len(log)
        put(connection, card_id, told if same else state, log)


def _state(card: Mapping[str, Any], replayed: CardState) -> CardState:
    """Return the state that a document tells; its days are counted by replaying the log."""
    memory = None
    if card["stability"] is not None:
        last = date.fromisoformat(card["last_day"])
        memory = MemoryState(float(card["stability"]), float(card["difficulty"]), last)
    tempo = TempoState(int(card["tempo"]), int(card["clean_run"]))
    return replayed._replace(
        memory=memory, tempo=tempo, attempts=int(card["attempts"]), due=day(card["due_day"])
    )


def _merge_settings(connection: Connection, settings: Mapping[str, Any], merged: Merged) -> None:
    known = set(connection.execute(query("SELECT name FROM setting")).scalars())
    missing = [
        {"name": name, "value": value}
        for name, value in sorted(settings.items())
        if name not in known and value is not None
    ]
    if missing:
        connection.execute(
            change("INSERT INTO setting (name, value) VALUES (:name, :value)"), missing
        )
    merged.settings = len(missing)
