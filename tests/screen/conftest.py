"""What screens are drawn from in these tests: a fixed past; and golden text files."""

from __future__ import annotations

import io
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from rich.console import Console, RenderableType

from drillbox.practice.preferences import Preferences, preferences_from
from drillbox.practice.progress import Week, progress
from drillbox.practice.summing import Summary, summary
from drillbox.screen.look import Look
from drillbox.store.opening import open_store
from tests.practice.past import NOW

GOLDEN = Path(__file__).parent / "golden" / "sums"
REWRITE = "DRILLBOX_REWRITE_GOLDEN"  # set it to 1 to write the files anew, then read the diff


def drawn(screen: RenderableType, look: Look) -> str:
    """Return a screen as a terminal without colours would show it, blanks at line ends gone."""
    console = Console(
        file=io.StringIO(), width=look.width, color_system=None, markup=False, emoji=False,
        highlight=False, legacy_windows=False,
    )  # fmt: skip
    console.print(screen, soft_wrap=look.plain)
    assert isinstance(console.file, io.StringIO)
    return "".join(f"{line.rstrip()}\n" for line in console.file.getvalue().splitlines())


@pytest.fixture
def golden() -> Callable[[str, str], None]:
    """Return what compares a screen with its golden file."""

    def compare(name: str, text: str) -> None:
        file = GOLDEN / f"{name}.txt"
        if os.environ.get(REWRITE) == "1":
            GOLDEN.mkdir(parents=True, exist_ok=True)
            file.write_text(text, encoding="utf-8")
        assert text == file.read_text(encoding="utf-8"), f"{REWRITE}=1 writes {file.name} anew"

    return compare


@pytest.fixture(scope="session")
def preferences() -> Preferences:
    """Return the settings of a player who has set none but the zone."""
    return preferences_from({"zone": "UTC"})


@pytest.fixture(scope="session")
def past_summary(past_file: Path, preferences: Preferences) -> Summary:
    """Return a fixed past."""
    with open_store(past_file, now=NOW, backups=False) as store:
        return summary(store, preferences, NOW)


@pytest.fixture(scope="session")
def past_weeks(past_file: Path, preferences: Preferences) -> tuple[Week, ...]:
    """Return the past's weeks."""
    with open_store(past_file, now=NOW, backups=False) as store:
        return progress(store, preferences, NOW, 12)
