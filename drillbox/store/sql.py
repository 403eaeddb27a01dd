"""SQL with bound parameters whose Python types follow from the names of the columns.

Everything but the adding of phrases goes through here, over SQLAlchemy's core: starting then
needn't wait for the models of ``tables``, which add phrases and say what migrations lead to.
A name means the same type in every table (a test holds ``columns`` to it), so a column or a
bound value is known by its name alone.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from sqlalchemy import bindparam, text
from sqlalchemy.sql.elements import TextClause
from sqlalchemy.sql.selectable import TextualSelect
from sqlalchemy.types import TypeEngine

from drillbox.store.columns import DAY, INSTANT, NUMBER, REAL, TABLES, TEXT

# Those that the driver doesn't hand over as they are, and the names that queries use besides.
_TYPES: dict[str, TypeEngine[Any]] = {
    name: kind
    for table in TABLES
    for name, kind in table.columns.items()
    if kind not in (NUMBER, REAL, TEXT)
} | {"since": DAY, "next_due": DAY, "now": INSTANT}


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
