"""The whole store as one open document, member by member, and its attempts as a table (CSV).

``checked`` says what a document holds. The same data make the same document, whichever machine
wrote them.
"""

from __future__ import annotations

import csv
import io
import json
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, date, datetime
from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Row

from drillbox.memory.recall import Recall
from drillbox.output import one_line
from drillbox.store.setting_rows import changes_in
from drillbox.store.sql import (
    ATTEMPT,
    CARD,
    DELETED,
    DELETED_GIG,
    DELETED_TUNE,
    GIG,
    HEARD,
    PHRASE,
    SESSION,
    TUNE,
    query,
)

if TYPE_CHECKING:
    from drillbox.store.access import Store

FORMAT, VERSION = "drillbox", 3
LISTS = (
    "phrases", "deleted", "sessions", "attempts", "tunes", "gigs", "deleted_tunes", "deleted_gigs",
)  # fmt: skip

Members = Callable[[], Iterator[tuple[str, Any]]]
"""Yields each member of a document, one that is a list as often as it has items; see ``LISTS``."""

_AT_ONCE = 1000  # rows that are in memory at a time


def _but(names: Mapping[str, object], *left_out: str) -> list[str]:
    return [name for name in names if name not in left_out]


_CARD = _but(CARD.columns, "id", "phrase_id", "quarters", "days_clean", "days_missed",
             "goal_run", "stride", "owned", "put_aside")  # fmt: skip
_ATTEMPT = _but(ATTEMPT.columns, "id", "card_id", "session_id", "first_of_day")
_HEARD = _but(HEARD.columns, "attempt_id")
_PHRASES = f"SELECT id, {', '.join(_but(PHRASE.columns, 'id', 'folded', 'former'))} FROM phrase"
_CARDS = f"SELECT {', '.join(_CARD)} FROM card WHERE phrase_id = :id ORDER BY position"
# Whose a session is concerns nobody else, and its ratings are counted where they come in.
_SESSION = _but(SESSION.columns, "id", "host", "process", "ratings")
_SESSIONS = f"SELECT {', '.join(_SESSION)} FROM drill_session"
_ATTEMPTS = f"""
SELECT phrase.uid AS phrase, card.key, drill_session.uid AS session,
       {", ".join(f"attempt.{name}" for name in _ATTEMPT)}, {", ".join(_HEARD)}
FROM attempt JOIN card ON card.id = card_id JOIN phrase ON phrase.id = phrase_id
LEFT JOIN heard ON heard.attempt_id = attempt.id
JOIN drill_session ON drill_session.id = session_id ORDER BY at, attempt.id
"""
_TUNES = f"SELECT {', '.join(_but(TUNE.columns, 'id', 'folded'))} FROM tune ORDER BY added_at, id"
_GIGS = f"SELECT {', '.join(_but(GIG.columns, 'folded'))} FROM gig ORDER BY added_at, id"
TUNES_OF_A_GIG = """
SELECT uid FROM gig_tune JOIN tune ON tune.id = tune_id WHERE gig_id = :id ORDER BY position, id
"""


class Snapshot:
    """What a store holds at one moment, as the values of its document."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def members(self) -> Iterator[tuple[str, Any]]:
        """Yield the members of the document, as values that JSON can hold."""
        changes = changes_in(self._connection)
        yield "format", FORMAT
        yield "version", VERSION
        yield "settings", {each.name: each.value for each in changes if each.value is not None}
        yield "settings_changed", {each.name: _text(each.at) for each in changes if each.at}
        yield from (("phrases", each) for each in self.phrases())
        yield from (
            ("deleted", each) for each in self._rows(f"{DELETED.select()} ORDER BY at, uid")
        )
        sessions = self._rows(f"{_SESSIONS} ORDER BY started_at, id")
        yield from (("sessions", each) for each in sessions)
        yield from (("attempts", each) for each in self.attempts())
        yield from (("tunes", each) for each in self._rows(_TUNES))
        yield from (("gigs", each) for each in self._gigs())
        for name, table in (("deleted_tunes", DELETED_TUNE), ("deleted_gigs", DELETED_GIG)):
            found = self._rows(f"{table.select()} ORDER BY at, uid")
            yield from ((name, each) for each in found)

    def phrases(self) -> Iterator[dict[str, Any]]:
        """Yield the phrases, each with its cards."""
        for values in list(self._rows(f"{_PHRASES} ORDER BY added_at, id")):
            cards = self._rows(_CARDS, id=values.pop("id"))
            yield {**values, "cards": list(cards)}

    def attempts(self) -> Iterator[dict[str, Any]]:
        """Yield the attempts, in the order in which they were made."""
        for values in self._rows(_ATTEMPTS):
            heard = {name: values.pop(name) for name in _HEARD}
            told = {**values, "recall": Recall(values["recall"]).word}
            yield told | ({"heard": _heard(heard)} if heard["ear"] else {})

    def _gigs(self) -> Iterator[dict[str, Any]]:
        for values in list(self._rows(_GIGS)):
            tunes = self._rows(TUNES_OF_A_GIG, id=values.pop("id"))
            yield {**values, "tunes": [each["uid"] for each in tunes]}

    def counts(self) -> tuple[int, int]:
        """Return how many phrases and attempts there are."""
        words = "SELECT (SELECT count(*) FROM phrase), (SELECT count(*) FROM attempt)"
        phrases, attempts = self._connection.execute(query(words)).one()
        return phrases, attempts

    def titles_and_goals(self) -> dict[str, tuple[str, int]]:
        """Return title and goal tempo of each phrase by its uid."""
        rows = self._connection.execute(query("SELECT uid, title, tempo FROM phrase")).all()
        return {row.uid: (row.title, row.tempo) for row in rows}

    def _rows(self, words: str, **values: object) -> Iterator[dict[str, Any]]:
        stream = self._connection.execution_options(yield_per=_AT_ONCE)
        return map(_plain, stream.execute(query(words), values))


def _heard(values: dict[str, Any]) -> dict[str, Any]:
    words = {name: values[name] and Recall(values[name]).word for name in ("proposed", "other")}
    return values | words


@contextmanager
def snapshot(store: Store) -> Iterator[Snapshot]:
    """Yield what the store holds at this moment, whatever others write meanwhile."""
    with store.read() as connection:
        yield Snapshot(connection)


def text_of(members: Iterator[tuple[str, Any]]) -> Iterator[str]:
    """Yield the text of a document: each item of a list on its own line."""
    yield "{"
    written: set[str] = set()
    for name, group in groupby(members, key=itemgetter(0)):
        yield f'{"," if written else ""}\n "{name}": '
        written.add(name)
        if name not in LISTS:
            yield from (_json(value) for _, value in group)
            continue
        for number, (_, item) in enumerate(group):
            yield f"{',' if number else '['}\n  {_json(item)}"
        yield "\n ]"
    for name in LISTS:
        if name not in written:
            yield f',\n "{name}": []'
    yield "\n}\n"


_json = json.JSONEncoder(ensure_ascii=False).encode


def _plain(row: Row[Any]) -> dict[str, Any]:
    return {name: _text(value) for name, value in row._mapping.items()}


def _text(value: Any) -> Any:
    if isinstance(value, datetime):
        return f"{value.astimezone(UTC).replace(tzinfo=None).isoformat(timespec='microseconds')}Z"
    return value.isoformat() if isinstance(value, date) else value


COLUMNS = (
    "at", "zone", "day", "phrase", "key", "recall", "tempo", "goal", "hint", "seconds", "loops",
    "in_round", "due_after", "undone_at", "uid",
)  # fmt: skip


def attempts_csv(found: Snapshot, tick: Callable[[], object] = lambda: None) -> Iterator[str]:
    """Yield every attempt as one line of CSV (RFC 4180), undone ones too, after a header.

    Text that a spreadsheet would take for a formula gets an apostrophe in front.
    """
    phrases = found.titles_and_goals()
    yield _csv_line(COLUMNS)
    for each in found.attempts():
        title, goal = phrases[each["phrase"]]
        values = {**each, "phrase": title, "goal": each["goal"] or goal}
        yield _csv_line([_harmless(values[name]) for name in COLUMNS])
        tick()


def _csv_line(values: Iterable[object]) -> str:
    text = io.StringIO()
    csv.writer(text).writerow(values)
    return text.getvalue()


# What spreadsheets take for the beginning of a formula, in any width that Unicode has.
_FORMULA = frozenset("=+-@|%\u2212")
_UNSEEN = frozenset("\u115f\u1160\u3164\uffa0\u2800")  # letters and signs that show nothing


def _harmless(value: object) -> object:
    if not isinstance(value, str):
        return value
    text = one_line(value)
    for character in text:
        # Past what isn't seen before it: blanks, marks without a letter, fillers.
        if character not in _UNSEEN and unicodedata.category(character)[0] not in "ZMC":
            first = unicodedata.normalize("NFKC", character)[0]
            return f"'{text}" if first in _FORMULA else text
    return text
