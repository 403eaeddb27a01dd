"""What the player calls a thing by: its title, the beginning of one, or its number."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from shlex import quote
from typing import Any, NamedTuple

from drillbox.errors import NotFound
from drillbox.music.phrases import folded_title


class Noun(NamedTuple):
    """What is looked for, and the commands that list such things and bring one in."""

    word: str
    lists: str
    brings: str


class Named(NamedTuple):
    """Which thing it is, whether or not the rest of its row can be read."""

    id: int
    uid: str
    title: str


def pasted(name: str) -> str:
    """Return a title or a name as it can be pasted behind a command.

    One that begins with a dash would be taken for an option; a blank before it counts for nothing.
    """
    return quote(f" {name}" if name.startswith("-") else name)


def find_row(rows: Sequence[Any], text: str, noun: Noun) -> Any:
    """Return the row that ``text`` names; rows have ``id``, ``title`` and ``folded``.

    Case doesn't count. A title wins over a beginning, a beginning over a number. Raises
    NotFound, naming those that are near or the several that it could be.
    """
    wanted = folded_title(text)
    exact = [row for row in rows if row.folded == wanted]
    found = exact or [row for row in rows if wanted and row.folded.startswith(wanted)]
    if not found and wanted.isascii() and wanted.isdigit():
        found = [row for row in rows if str(row.id) == wanted.lstrip("0")]
    if len(found) == 1:
        return found[0]
    if found:
        raise NotFound(
            f"{text!r} could be {_named([row.title for row in found])}",
            f"Write more of the title, or its number from: {noun.lists}.",
        )
    raise _none_such(text, {row.folded: row.title for row in rows}, noun)


def _none_such(text: str, known: dict[str, str], noun: Noun) -> NotFound:
    near = difflib.get_close_matches(folded_title(text), known, n=3, cutoff=0.5)
    near += [
        name
        for name in known
        if folded_title(text) and folded_title(text) in name and name not in near
    ]
    if near:
        remedy = f"Near it: {_named([known[name] for name in near])}."
    else:
        remedy = f"See {noun.lists}." if known else f"Add one first: {noun.brings}."
    return NotFound(f"There is no {noun.word} {text[:80]!r}", remedy)


def _named(names: Sequence[str]) -> str:
    shown = ", ".join(repr(name) for name in names[:5])
    return shown + (f" and {len(names) - 5} more" if len(names) > 5 else "")
