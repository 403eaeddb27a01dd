"""The words that a player reads: none that a native musician stumbles over."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import drillbox

ROOM = Path(drillbox.__file__).parent
NEVER = (
    "is no key", "is no meter", "is no day", "is no whole number", "key here",
    "any key", "minutes stand still", "taken back", "takes the last rating back",
    "nothing to take back", "enter keeps it", "esc leaves it", "no more than rough",
    "doubtful:", "came to be", "the wanted", "cards due", "backlog", "keys open", "begin anew",
    "say all", "good tunes", "open on this store", "mend the", "; a convention", "what it is",
    "close its loop", "until a key is pressed",
)  # fmt: skip


def said(source: str) -> Iterator[str]:
    """Yield what a module may say: its texts without docstrings; a command's docstring is help."""
    tree = ast.parse(source)
    documented = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        told = isinstance(node, ast.Constant) and id(node) not in documented
        if told and isinstance(node.value, str):
            yield node.value.lower()


@pytest.mark.parametrize("word", NEVER)
def test_no_message_or_help_text_says(word):
    """The words of the list stand in no text of any module."""
    found = [
        f"{path.relative_to(ROOM)}: {text}"
        for path in sorted(ROOM.rglob("*.py"))
        for text in said(path.read_text("utf-8"))
        if word in text
    ]
    assert not found


@pytest.mark.parametrize("word", NEVER)
def test_no_golden_screen_says(word):
    """The words of the list stand on no golden screen, however it is wrapped."""
    golden = ROOM.parent / "tests" / "screen" / "golden"
    screens = sorted(golden.rglob("*.txt"))
    assert screens
    found = [
        path.name for path in screens if word in " ".join(path.read_text("utf-8").lower().split())
    ]
    assert not found
