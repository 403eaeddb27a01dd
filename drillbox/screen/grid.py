"""The grid of phrases and keys, in the order of the circle: each card begun by shape and letter."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.memory.chances import SURE_ENOUGH
from drillbox.music.keys import Spelling, Third, twelve
from drillbox.practice.standing import LEVELS, Cell, Level
from drillbox.screen import style
from drillbox.screen.look import Look, clean

SHAPES: dict[Level, str] = {"owned": "◆", "sure": "●", "unsure": "◐", "climbing": "○"}
_ASCII: dict[Level, str] = {"owned": "#", "sure": "+", "unsure": "~", "climbing": "/"}
_STYLES: dict[Level, str] = {
    "owned": style.SOUND,
    "sure": style.SOUND,
    "unsure": style.WEAK,
    "climbing": "",
}


def sign(level: Level, look: Look) -> str:
    """Return the shape and the letter of a level: ``◆O``."""
    return (_ASCII if look.ascii else SHAPES)[level] + level[0].upper()


def rows_by_phrase(cells: Sequence[Cell], mode: Third) -> dict[int, dict[int, Cell]]:
    """Return the cells of keys with one third by phrase, then by tonic, phrases as they come.

    Church modes stand with the major or minor keys that they share their tonic chord with.
    """
    rows: dict[int, dict[int, Cell]] = {}
    for cell in cells:
        if cell.key.third == mode:
            rows.setdefault(cell.phrase_id, {})[cell.key.tonic.pitch_class] = cell
    return rows


def circle(mode: Third, spelling: Spelling) -> list[tuple[int, str, str]]:
    """Return the twelve tonics round the circle: pitch class, ASCII name, Unicode name."""
    return [
        (key.tonic.pitch_class, key.tonic.text(), key.tonic.text(ascii=False))
        for key in twelve(mode, spelling)
    ]


def grid(cells: Sequence[Cell], spelling: Spelling, look: Look) -> RenderableType:
    """Draw the grid; phrases in minor keys stand in one of their own below."""
    parts: list[RenderableType] = []
    modes: tuple[Third, Third] = ("major", "minor")
    for mode in modes:
        rows = rows_by_phrase(cells, mode)
        if rows:
            parts += _plain(rows, spelling, look) if look.plain else _drawn(
                rows, mode, spelling, look
            )  # fmt: skip
    return Group(*parts)


def _drawn(
    rows: dict[int, dict[int, Cell]], mode: Third, spelling: Spelling, look: Look
) -> list[RenderableType]:
    step = 4 if look.width >= 70 else 3 if look.width >= 50 else 2
    room = min(26, look.width - 12 * step - 1)
    keys = circle(mode, spelling)
    names = [ascii_name if look.ascii else name for _, ascii_name, name in keys]
    head = Text(_padded(f"{mode} keys", room), style.QUIET)
    head.append("".join(_padded(name, step) for name in names).rstrip(), style.QUIET)
    lines: list[RenderableType] = [head]
    for found in rows.values():
        title = next(iter(found.values())).title
        line = Text(_padded(clean(title, room - 1, ascii=look.ascii), room), no_wrap=True)
        for tonic, *_ in keys:
            line.append_text(_mark(found.get(tonic), step, look))
        lines.append(line)
    return lines


def _mark(cell: Cell | None, step: int, look: Look) -> Text:
    """Return one cell of the grid: at the narrowest the shape gives way, but where it is all."""
    if cell is None:
        return Text(_padded("." if look.ascii else "·", step), style.QUIET)
    mark = sign(cell.level, look)
    return Text.assemble((mark, _STYLES[cell.level]), " " * (step - len(mark)))


def _padded(text: str, cells: int) -> str:
    return text + " " * max(0, cells - cell_len(text))


def _plain(
    rows: dict[int, dict[int, Cell]], spelling: Spelling, look: Look
) -> list[RenderableType]:
    lines: list[RenderableType] = []
    for found in rows.values():
        one = next(iter(found.values()))
        title = clean(one.title, ascii=look.ascii)
        keys = {key.tonic.pitch_class: key for key in twelve(one.key.mode, spelling)}
        said = [
            f"{key.text(ascii=look.ascii)} {found[at].level if at in found else 'not started'}"
            for at, key in keys.items()
        ]
        lines.append(Text(f"{title}: {', '.join(said)}"))
    return lines


def level_words() -> dict[Level, str]:
    """Return what each level means."""
    return {
        "owned": "owned: two first goes running clean at goal, and it lasts",
        "sure": f"sure: at goal tempo, {SURE_ENOUGH:.0%} or more clean at goal now",
        "unsure": "unsure: at goal tempo, but less than that",
        "climbing": "climbing: below its goal tempo",
    }


def legend(look: Look) -> Text:
    """Say what the signs of the grid mean."""
    words = level_words()
    parts = [words[each] if look.plain else f"{sign(each, look)} {words[each]}" for each in LEVELS]
    if not look.plain:
        parts.append(f"{'.' if look.ascii else '·'} not started yet")
    return Text("; ".join(parts) + ".", style.QUIET)
