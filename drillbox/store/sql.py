"""SQL with bound parameters whose Python types follow from the names of the columns.

What a drill touches between its start and its stop goes through here, over SQLAlchemy's core:
starting then needn't wait for the models. Everything else goes through the models of
``tables``.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from functools import cache
from typing import Any

from sqlalchemy import JSON, Boolean, Date, DateTime, Dialect, bindparam, text
from sqlalchemy.sql.elements import TextClause
from sqlalchemy.sql.selectable import TextualSelect
from sqlalchemy.types import TypeDecorator, TypeEngine


class Instant(TypeDecorator[datetime]):
    """An instant: an aware datetime on the way in, UTC in the store and on the way out."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(
        self,
        value: datetime | None,
        dialect: Dialect,  # noqa: ARG002 - the signature is SQLAlchemy's
    ) -> datetime | None:
        """Refuse a naive datetime (ValueError); turn an aware one into UTC."""
        if value is None:
            return None
        if value.utcoffset() is None:
            raise ValueError(f"{value} has no zone")
        return value.astimezone(UTC)

    def process_result_value(
        self,
        value: datetime | None,
        dialect: Dialect,  # noqa: ARG002 - as above
    ) -> datetime | None:
        """Mark what SQLite keeps without an offset as the UTC that it is."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


DOCUMENT = JSON(none_as_null=True)  # a JSON column; None is kept as NULL
_DAYS = ("day", "since", "opened_day", "last_day", "due_day", "due_after", "next_due")
_INSTANTS = ("at", "now", "added_at", "retired_at", "started_at", "ended_at", "undone_at")
_FLAGS = ("double_time", "in_round", "first_of_day")
_TYPES: dict[str, TypeEngine[Any]] = {
    **{name: Date() for name in _DAYS},
    **{name: Instant() for name in _INSTANTS},
    **{name: Boolean() for name in _FLAGS},
    **dict.fromkeys(("chart", "line", "analysis", "value"), DOCUMENT),
}


def _bound(words: str) -> TextClause:
    names = set(re.findall(r":(\w+)", words)) & _TYPES.keys()
    return text(words).bindparams(*(bindparam(name, type_=_TYPES[name]) for name in sorted(names)))


@cache
def change(words: str) -> TextClause:
    """Return a statement that changes rows; dates, instants, flags and JSON may be bound."""
    return _bound(words)


@cache
def query(words: str) -> TextualSelect:
    """Return a query whose bound values and result columns have their Python types.

    A result column is known by its name (``day``, ``at``, ``chart`` ...), so one that is
    renamed by AS takes the type of its new name.
    """
    named = set(re.findall(r"\w+", words)) & _TYPES.keys()
    return _bound(words).columns(**{name: _TYPES[name] for name in sorted(named)})
