"""What an edit says before it is done, on screens of each kind."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from drillbox.practice.adding import keep, prepare, typed_phrase
from drillbox.practice.editing import Wanted, plan_edit
from drillbox.practice.preferences import Preferences
from drillbox.screen.edit_preview import edit_screen
from drillbox.screen.look import Look
from drillbox.store.opening import open_store
from tests.practice.past import NOW
from tests.screen.conftest import drawn

LOOKS = {
    "80": Look(width=80, height=24, ascii=False, plain=False),
    "40": Look(width=40, height=20, ascii=False, plain=False),
    "ascii": Look(width=80, height=24, ascii=True, plain=False),
    "plain": Look(width=80, height=24, ascii=False, plain=True),
}
EDITS = {
    "title_goal_tags": Wanted(title="Tin stairs", goal="168", tags=("duo",), aside=("Gb",)),
    "chart": Wanted(chart="Cm7 F7b9 | Dm7b5 G7alt | Cm7 F7 | Bbmaj7 (G7)"),
    "key": Wanted(key="F"),
}


def test_wide_signs_are_counted_as_the_cells_they_cover(
    made: Path, preferences: Preferences
) -> None:
    """A title of twenty signs that covers forty cells stands on a line of its own."""
    with open_store(made, now=NOW, backups=False) as store:
        typed = typed_phrase(title="階段" * 10, key="Bb", tempo="132", chart="Cm7 F7 | Bbmaj7")
        record = keep(store, [prepare(typed, preferences)], NOW)[0]
        plan = plan_edit(store, preferences, record, Wanted(title="青い" * 10))
        text = drawn(edit_screen(plan, LOOKS["80"]), LOOKS["80"])
    assert f"  title: {'階段' * 10}\n" in text


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("edit", EDITS)
def test_edits_look_as_they_did(
    made: Path, preferences: Preferences, golden, edit: str, look: str
) -> None:
    """What was, what comes, and what is remembered, at each width and in words."""
    with open_store(made, now=NOW, backups=False) as store:
        typed = typed_phrase(title="Blue stairs", key="Bb", tempo="132",
                             chart="Cm7 F7 | Bbmaj7 G7 | Cm7 F7 | Bbmaj7 (G7)")  # fmt: skip
        record = keep(store, [prepare(typed, preferences)], NOW)[0]
        plan = plan_edit(store, preferences, record, EDITS[edit])
        plan = dataclasses.replace(plan, attempts=34, owned=(5, 2))
        golden(f"edit_{edit}_{look}", drawn(edit_screen(plan, LOOKS[look]), LOOKS[look]))
