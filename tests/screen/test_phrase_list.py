"""Lists of phrases in the player's order, and what a narrowed drill says first, as looked at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from drillbox.practice.library import sorted_by
from drillbox.practice.narrowing import Narrowing, narrow
from drillbox.practice.preferences import Preferences
from drillbox.screen.drill import drill_screen
from drillbox.screen.look import Look
from drillbox.screen.phrase_list import phrase_list
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import list_phrases
from drillbox.store.values import PhraseOverview
from tests.practice.past import NOW
from tests.screen.conftest import drawn
from tests.screen.states import CARD

LOOKS = [
    ("80", Look(80, 24)),
    ("40", Look(40, 20)),
    ("ascii", Look(80, 24, ascii=True)),
    ("plain", Look(80, 24, plain=True)),
]


@pytest.mark.parametrize(("name", "look"), LOOKS)
def test_phrases_in_order_look_as_they_did(
    past_file: Path, preferences: Preferences, golden: Callable, name: str, look: Look
):
    """The weakest first; and by title, tempo and due in other orders, with the same rows."""
    day = preferences.today(NOW)
    with open_store(past_file, now=NOW, backups=False) as store:
        listed = list_phrases(store)
        texts = {
            sort: drawn(
                phrase_list(sorted_by(store, preferences, listed, sort, day), day, look), look
            )
            for sort in ("weakest", "title", "tempo", "due")
        }
    golden(f"phrases-weakest-{name}", texts["weakest"])
    assert len({tuple(sorted(text.splitlines())) for text in texts.values()}) == 1
    assert len(set(texts.values())) > 1


def test_when_a_phrase_is_due_is_never_cut():
    """Beside a long title, and a mode's name as key, at the narrowest."""
    long = PhraseOverview(
        12, "Along the railway at dusk", "G Dorian", 168, double_time=False, added_at=NOW,
        retired_at=None, cards=12, opened=3, attempts=9, last_day=NOW.date(),
        next_due=NOW.date() + timedelta(days=38),
    )  # fmt: skip
    for due in (long, replace(long, next_due=NOW.date() + timedelta(days=380))):
        look = Look(40, 20)
        row = drawn(phrase_list([due], NOW.date(), look), look).splitlines()[1]
        assert row.endswith("in 38 days" if due is long else due.next_due.isoformat())
        assert "Along the" in row


@pytest.mark.parametrize(("name", "look"), LOOKS[:3])
def test_what_narrowing_leaves_out_looks_as_it_did(
    past_file: Path, preferences: Preferences, golden: Callable, name: str, look: Look
):
    """One line under the first chart, before anything is rated."""
    with open_store(past_file, now=NOW, backups=False) as store:
        wanted = narrow(store, preferences, Narrowing(keys=("Gb", "B"), slow=True), NOW)
    assert wanted is not None
    view = replace(CARD, message=wanted.line)
    golden(f"narrowed-{name}", drawn(drill_screen(view, look), look))
