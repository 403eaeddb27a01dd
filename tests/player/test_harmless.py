"""On a real terminal a session's own codes are drawn, and none of the player's text."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.test_output import NASTY
from tests.player.children import spawn


@pytest.mark.parametrize("plain", [True, False])
def test_on_a_real_terminal(quick: Path, plain: bool) -> None:
    """A drill's screen draws its own codes and none of the player's text."""
    everything = "".join(NASTY.values())
    with closing(sqlite3.connect(quick)) as database, database:
        database.execute("UPDATE phrase SET title = title || ?", (everything,))
        database.execute("UPDATE card SET note = ?", (everything,))
    child = spawn(quick, *(["--plain"] if plain else []), "drill")
    child.expect("Red door")
    seen = child.before + child.after
    for press, shown in (("h", "hint 1"), ("n", "note"), ("\r", "kept"), ("q", "go(es)? in|rated")):
        child.send(press)
        child.expect(shown)
        seen += child.before + child.after
    child.close(force=True)
    for codes in ("\x1b]52", "\x1b]0;", "\x9b", "\x9d", "\u202e", "\u2066", "\u2028", "\x00"):
        assert codes not in seen
