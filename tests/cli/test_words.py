"""The words that a player reads: none that a native musician stumbles over."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

import drillbox
from drillbox.store.setting_rows import GONE

ROOM = Path(drillbox.__file__).parent
NEVER = (
    "is no key", "is no meter", "is no day", "is no whole number", "key here",
    "any key", "minutes stand still", "taken back", "takes the last rating back",
    "nothing to take back", "enter keeps it", "esc leaves it", "no more than rough",
    "doubtful:", "came to be", "the wanted", "cards due", "backlog", "keys open", "begin anew",
    "say all", "good tunes", "open on this store", "mend the", "; a convention", "what it is",
    "close its loop", "until a key is pressed", "with one key", "is put down", " 1 notes",
    " 1 ratings", "the 3 of ", "card is due", "take it back", "drillbox[",
    "who keeps the server", "has been already", " 1 minutes", "to 100 %",
)  # fmt: skip
PLAYERS = "cli", "hearing", "memory", "practice", "screen"
GOES = re.compile(r"\battempts?\b|\btries\b|\bfirst try\b|\bgoes running\b")


@cache
def said(path: Path) -> list[str]:
    """Return what a module may say: no docstrings but those of commands, which are help."""
    tree = ast.parse(path.read_text("utf-8"))
    silent = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and isinstance(node.body[0], ast.Expr)
        and not (isinstance(node, ast.FunctionDef) and path.is_relative_to(ROOM / "cli"))
    }
    return [
        node.value.lower()
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        if id(node) not in silent and node.value not in GONE
    ]


@pytest.fixture(scope="module")
def told() -> list[tuple[str, str]]:
    """Return every text that a player may read, each with the name of the file it stands in."""
    root = ROOM.parent
    pages = [root / "README.md", root / "DEVELOPERS.md"]
    pages += sorted((root / "tests" / "screen" / "golden").rglob("*.txt"))
    assert len(pages) > 100
    return [
        *((path.name, text) for path in sorted(ROOM.rglob("*.py")) for text in said(path)),
        *((page.name, " ".join(page.read_text("utf-8").lower().split())) for page in pages),
    ]


@pytest.fixture(scope="module")
def read_by_players() -> list[tuple[str, str]]:
    """Return sentences and headings of the rooms that speak to a player, the README and screens.

    Names of columns, members and files have no blank in them; the JSON's schema is for programs.
    """
    pages = [ROOM.parent / "README.md"]
    pages += sorted((ROOM.parent / "tests" / "screen" / "golden").rglob("*.txt"))
    return [
        *(
            (path.name, text)
            for room in PLAYERS
            for path in sorted((ROOM / room).rglob("*.py"))
            if path.name != "summary_json.py"
            for text in said(path)
            if " " in text.strip()
        ),
        *((page.name, " ".join(page.read_text("utf-8").lower().split())) for page in pages),
    ]


def test_a_go_has_one_name(read_by_players):
    """To a player it is a go, as the README says; the code and exports say attempt."""
    assert [each for each in read_by_players if GOES.search(each[1])] == []


def test_nothing_that_a_player_reads_says(told):
    """Not a message, a help text, a golden screen (however it is wrapped) or a document."""
    whole = "\n".join(text for _, text in told)
    said = [word for word in NEVER if word in whole]
    assert [(word, name) for word in said for name, text in told if word in text] == said == []
