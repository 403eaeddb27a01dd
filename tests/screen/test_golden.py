"""Every state of a drill's and a round's screen looks as it was last looked at by a person.

``DRILLBOX_REWRITE_GOLDEN=1`` writes the files anew; look at the difference before keeping it.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from rich.cells import cell_len

from drillbox.screen.look import Look
from tests.rows import every_row
from tests.screen.states import EVERY, shown, states

GOLDEN = Path(__file__).parent / "golden" / "drill"
REWRITE = os.environ.get("DRILLBOX_REWRITE_GOLDEN") == "1"
STATES = {name: (look, draw) for name, look, draw in states()}


@pytest.mark.parametrize("name", STATES)
def test_the_screen_is_the_golden_one(name: str):
    """Sign by sign, so that no change of a layout goes unseen."""
    text = shown(*STATES[name])
    path = GOLDEN / f"{name}.txt"
    if REWRITE:
        path.write_text(text, encoding="utf-8", newline="\n")
    assert text == path.read_text(encoding="utf-8")


@every_row("name", [name for name in STATES if "plain" not in name])
def test_the_screen_fits_its_terminal(name: str):
    """No line is wider than the terminal, and none of a screen of keys is below its end."""
    look, draw = STATES[name]
    lines = shown(look, draw).splitlines()
    assert max(map(cell_len, lines)) <= look.width
    if not name.startswith("recap"):
        assert len(lines) <= look.height


@every_row("name", EVERY)
def test_no_terminal_is_too_small_to_draw_on(name: str):
    """A window drawn together to a few cells isn't a reason to break off a session."""
    for width in (1, 2, 3, 8, 13, 21, 39):
        for height in (1, 10) if width % 2 else (3,):
            assert shown(Look(width, height), EVERY[name])


@every_row("name", [name for name in STATES if "ascii" in name])
def test_the_ascii_form_is_ascii(name: str):
    """Every state has a form that any terminal and locale can write."""
    assert shown(*STATES[name]).isascii()


def test_no_golden_screen_is_left_over():
    """Each file belongs to a state, so that none is kept that nothing draws any more."""
    assert {path.stem for path in GOLDEN.glob("*.txt")} == set(STATES)
