"""The README's pictures, drawn from the invented demo: ``python -m tests.pictures``.

Each is drawn twice, for dark and for light grounds, into ``.pictures/``. A test keeps them true.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

from rich.console import Console, RenderableType
from rich.terminal_theme import TerminalTheme

from drillbox.memory.recall import Recall
from drillbox.music.pulse import Position
from drillbox.player.controls import CONTROLS, foot_of, while_running
from drillbox.player.in_round import InRound
from drillbox.practice.adding import keep, prepare, read_file
from drillbox.practice.hinting import hint_for
from drillbox.practice.preferences import preferences_from
from drillbox.practice.rounds import Round, round_cards
from drillbox.screen.drill import DrillView, drill_screen
from drillbox.screen.lead_sheet import Sounding
from drillbox.screen.look import Look
from drillbox.screen.round import RoundView, round_screen
from drillbox.shipped import shipped
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import find_phrase
from tests.screen.states import LISTENING

FOLDER = Path(__file__).parent.parent / ".pictures"
NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)
PREFERENCES = preferences_from({"zone": "Europe/Lisbon"})
ALL = [each.action for each in CONTROLS if each.action not in LISTENING]
COMPACT, LARGE = Look(80, 14), Look(104, 30)
_ANSI = [(40, 44, 52)] * 8
DARK = TerminalTheme((22, 24, 28), (226, 226, 220), _ANSI)
LIGHT = TerminalTheme((252, 251, 247), (34, 36, 40), _ANSI)
GROUNDS = {"dark": DARK, "light": LIGHT}

# As rich's own, without its fonts from the network: nothing here is loaded from anywhere.
FORMAT = """\
<svg class="{unique_id}" viewBox="0 0 {width} {height}" xmlns="http://www.w3.org/2000/svg">
<style>
.{unique_id}-matrix {{
font-family: monospace;
font-size: {char_height}px;
line-height: {line_height}px;
}}
{styles}
</style>
<defs>
<clipPath id="{unique_id}-clip-terminal">
<rect x="0" y="0" width="{terminal_width}" height="{terminal_height}"/>
</clipPath>
{lines}
</defs>
{chrome}
<g transform="translate({terminal_x}, {terminal_y})" clip-path="url(#{unique_id}-clip-terminal)">
{backgrounds}
<g class="{unique_id}-matrix">
{matrix}
</g>
</g>
</svg>
"""


class Picture(NamedTuple):
    """One picture: its file's name, the command that shows it, its look, and what is drawn."""

    name: str
    command: str
    look: Look
    screen: RenderableType


def pictures(store: Store) -> Iterator[Picture]:
    """Yield every picture, drawn from a store that holds the demo's phrases."""
    view = card_view(store, "Loose hinge", 3)
    beat = replace(view, sounding=Sounding(1, 2, 4), message="", foot=while_running(foot_of(ALL)))
    yield Picture("drill", "drillbox drill", LARGE, drill_screen(beat, LARGE))
    card = cards_of(store, find_phrase(store, "Loose hinge").id)[3]
    hint = hint_for(store, card, card, 2, ascii=False)
    hinted = replace(view, hint=hint, note="lean on the ninth")
    yield Picture("hint", "drillbox drill", COMPACT, drill_screen(hinted, COMPACT))
    yield Picture("round", "drillbox round", LARGE, round_screen(in_a_round(store), LARGE))


def card_view(store: Store, title: str, position: int) -> DrillView:
    """Return one of a phrase's cards as a drill shows it."""
    card = cards_of(store, find_phrase(store, title).id)[position]
    tempo = card.state.tempo.tempo
    climb = f"goal {card.goal}, first go today"
    return DrillView(
        title, card.key, card.chart, tempo, climb, card.double_time, minutes_left=14,
        foot=foot_of(ALL),
    )  # fmt: skip


def in_a_round(store: Store) -> RoundView:
    """Return a round that has come to its fourth key, two of them rated."""
    record = find_phrase(store, "Loose hinge")
    cards = round_cards(store, PREFERENCES, record, whole=True)
    played = Round(store, PREFERENCES, cards, tempo=None, loops=1, now=NOW)
    played.rate(0, Recall.CLEAN, NOW)
    played.rate(1, Recall.ROUGH, NOW)
    played.play_to(3)
    shown = InRound(played, lambda: NOW, ascii=False)
    shown.pulse()
    shown.follow(Position(count_in=False, loop=0, bar=0, beat=1))
    foot = foot_of([name for name in ALL if name not in {"hint", "note"}])
    return shown.view(foot=while_running(foot, "faster", "slower"))


@contextmanager
def demo_phrases(folder: Path) -> Iterator[Store]:
    """Open a store in a folder that holds the demo's phrases and no history."""
    source = shipped("seeds_demo") / "lines.abc"
    reading = read_file(source, part=None, tempo=None, title=None, key=None)
    phrases = [tune.phrase for tune in reading.tunes if tune.phrase]
    with open_store(folder / "demo.sqlite3", now=NOW, backups=False) as store:
        keep(store, [prepare(each, PREFERENCES) for each in phrases], NOW)
        yield store


def svg(picture: Picture, theme: TerminalTheme) -> str:
    """Return a picture as SVG on one ground, without the buttons of a window."""
    console = Console(
        record=True, file=StringIO(), width=picture.look.width, force_terminal=True,
        color_system="truecolor", highlight=False, markup=False, emoji=False,
    )  # fmt: skip
    console.print(picture.screen)
    drawn = console.export_svg(
        title=picture.command, theme=theme, code_format=FORMAT, unique_id=f"drillbox-{picture.name}"
    )
    return re.sub(r'<g transform="translate\(26,22\)">.*?</g>', "", drawn, flags=re.DOTALL)


def drawn() -> dict[str, str]:
    """Return every file's name with its content."""
    with TemporaryDirectory() as folder, demo_phrases(Path(folder)) as store:
        return {
            f"{picture.name}-{ground}.svg": svg(picture, theme)
            for picture in pictures(store)
            for ground, theme in GROUNDS.items()
        }


def main() -> None:
    """Write the pictures."""
    FOLDER.mkdir(exist_ok=True)
    for name, content in drawn().items():
        (FOLDER / name).write_text(content, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
