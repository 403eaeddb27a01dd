"""``drillbox add`` in a real terminal asks step by step, and stores nothing half."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from tests.player.children import ended, pexpect, spawn

PROMPTS = (
    ("Title", "Back stairs"),
    ("Written key", "Bb"),
    ("Goal tempo", "132"),
    ("Meter", ""),
    ("Chart", "Cm7 F7 | Bbmaj7"),
    ("Double time", ""),
    ("Take it", "y"),
    ("Store it", "y"),
)


def test_add_asks_step_by_step(place: Path):
    """Each wrong answer is said at once and asked anew; the phrase is stored at the end."""
    child = spawn(place, "add")
    for prompt, answer in PROMPTS:
        child.expect(prompt)
        if prompt == "Written key":
            child.sendline("H")
            child.expect("is no key")
            child.expect(prompt)
        child.sendline(answer)
    child.expect("Stored 1 phrase")
    ended(child)


@pytest.mark.parametrize("stop", range(len(PROMPTS)))
@pytest.mark.parametrize("end", ["\x03", "\x04"], ids=["ctrl-c", "end-of-file"])
def test_leaving_at_any_prompt_stores_nothing(place: Path, stop: int, end: str):
    """Ctrl-C and end of file, at each of the prompts: one line, code 130, no phrase."""
    child = spawn(place, "add")
    for prompt, answer in PROMPTS[:stop]:
        child.expect(prompt)
        child.sendline(answer)
    child.expect(PROMPTS[stop][0])
    child.send(end)
    child.expect("Broken off")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
    assert "Traceback" not in (child.before or "")
    if place.exists():
        with sqlite3.connect(place) as database:
            assert database.execute("SELECT count(*) FROM phrase").fetchone() == (0,)
        database.close()
