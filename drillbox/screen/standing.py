"""How all stands: the tables of keys, phrases and cards, and the grid of phrases and keys.

The tables show ability with its interval and chances now beside it. The grid goes in the order of
the circle; each card begun shows by shape and letter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.memory.chances import SURE_ENOUGH
from drillbox.memory.weakness import ENOUGH, FINE, LEVEL, UNPLAYED, WEAK
from drillbox.music.keys import Spelling, Third, parse_key, twelve
from drillbox.practice.standing import ALONE, LEVELS, Cell, Level, Standing
from drillbox.screen import style
from drillbox.screen.look import Look, clean
from drillbox.screen.table import Column, Content, table


class _Signs(NamedTuple):
    track: str
    low: str
    inside: str
    point: str
    high: str
    mean: str
    mean_inside: str


_TEMPO_FROM, _WAITS_FROM = 64, 56  # the widths from which there is room for these columns
_DRAWN = _Signs("·", "├", "─", "●", "┤", "┊", "┼")
_ASCII = _Signs(".", "[", "-", "o", "]", ":", "+")


def bar_width(look: Look) -> int:
    """Return how many cells a bar takes at this width."""
    return 20 if look.width >= 76 else 11


def interval_bar(
    share: float | None, low: float, high: float, mean: float | None, look: Look, *, weak: bool
) -> Text:
    """Draw an interval with its point and the player's mean, all shares from 0 to 1."""
    signs, width = _ASCII if look.ascii else _DRAWN, bar_width(look)
    row = [signs.track] * width
    if share is not None:
        row[_at(low, width) : _at(high, width) + 1] = [signs.inside] * (
            _at(high, width) - _at(low, width) + 1
        )
        row[_at(low, width)], row[_at(high, width)] = signs.low, signs.high
    if mean is not None:
        here = _at(mean, width)
        row[here] = signs.mean_inside if row[here] != signs.track else signs.mean
    if share is not None:
        row[_at(share, width)] = signs.point
    return Text("".join(row), style.WEAK if weak else "")


def mean_sign(look: Look) -> str:
    """Return the sign that marks the player's mean in a bar."""
    return (_ASCII if look.ascii else _DRAWN).mean


def bar_heading(look: Look) -> str:
    """Return the scale over a column of bars."""
    width = bar_width(look)
    middle = "recalled" if width >= 16 else ""
    return "0%" + middle.center(width - 6) + "100%"


def _at(share: float, width: int) -> int:
    return min(width - 1, max(0, round(share * (width - 1))))


def verdict_sign(verdict: str, look: Look) -> str:
    """Return the sign before a name; the unmarked is as good as the rest."""
    return {WEAK: "v" if look.ascii else "▼", UNPLAYED: "?", ALONE: "="}.get(verdict, " ")


def key_names(standings: Sequence[Standing], look: Look) -> list[Standing]:
    """Return the standings of keys under the names of keys as this screen can show them."""
    return [replace(each, name=parse_key(each.name).text(ascii=look.ascii)) for each in standings]


def standing_table(
    heading: str, standings: Sequence[Standing], mean: float | None, look: Look
) -> RenderableType:
    """Draw one row for each; in plain mode say each verdict in words."""
    if look.plain:
        return table(*_plain(heading, standings, look), look)
    drawn = _columns(heading, standings, look)
    rows: list[Sequence[Content]] = [_row(each, mean, look) for each in standings]
    return table(drawn, rows, look)


def _columns(heading: str, standings: Sequence[Standing], look: Look) -> list[Column]:
    short = max((len(each.name) for each in standings), default=0) < 12
    return [
        Column(f"  {heading}", wide=not short),
        Column(bar_heading(look)),
        Column("share", right=True),
        Column("first\ngoes", right=True),
        Column("tempo", right=True, least=_TEMPO_FROM),
        Column("clean at\ngoal now", right=True, least=_TEMPO_FROM),
        Column("waits\nfor", least=_WAITS_FROM),
    ]


def _row(each: Standing, mean: float | None, look: Look) -> Sequence[Content]:
    weak = each.verdict == WEAK
    name = clean(each.name, name_room(look), ascii=look.ascii)
    return (
        Text(f"{verdict_sign(each.verdict, look)} {name}", style.WEAK if weak else ""),
        interval_bar(each.share, each.low, each.high, mean, look, weak=weak),
        look.dash if each.share is None else f"{each.share:.0%}",
        str(each.tries),
        f"{each.tempo:.0%}",
        f"{each.now:.0%}",
        each.waits or look.dash,
    )


def name_room(look: Look) -> int:
    """Return the cells that a name may take in these tables."""
    return max(8, look.width - bar_width(look) - (46 if look.width >= _TEMPO_FROM else 18))


def _plain(
    heading: str, standings: Sequence[Standing], look: Look
) -> tuple[list[Column], list[Sequence[Content]]]:
    names = (heading, "verdict", "share", "interval", "first goes", "tempo", "clean at goal now",
             "waits for")  # fmt: skip
    rows: list[Sequence[Content]] = [
        (
            clean(each.name, ascii=look.ascii),
            each.verdict,
            look.dash if each.share is None else f"{each.share:.0%}",
            f"{each.low:.0%} to {each.high:.0%}",
            f"{each.tries} ({each.recalled} clean or fluent)",
            f"{each.tempo:.0%} of goal",
            f"{each.now:.0%}",
            each.waits or "nothing",
        )
        for each in standings
    ]
    return [Column(name) for name in names], rows


def rule_lines(
    standings: Sequence[Standing], mean: float | None, look: Look, *, single: bool
) -> Group:
    """Say under the tables what their words and signs mean, and by which rule.

    Plain lines have no signs; of a narrow table only the columns that it has are told, and the
    chance that sentences below it name. ``single``: one of the tables is of single cards.
    """

    def sign(verdict: str) -> str:
        return "" if look.plain else f"{verdict_sign(verdict, look)} "

    seen = {each.verdict for each in standings}
    line = "" if look.plain else f"{mean_sign(look)}, "
    said = [
        f"{sign(WEAK)}weak: {ENOUGH} first goes at least, and the upper end of the"
        f" {LEVEL:.0%} interval lies below your mean"
        + (f" ({line}{mean:.0%})." if mean is not None else "."),
        f"unmarked: {FINE}." if FINE in seen and not look.plain else "",
        f"{sign(UNPLAYED)}{UNPLAYED}: under {ENOUGH} first goes." if UNPLAYED in seen else "",
        f"{sign(ALONE)}{ALONE}." if ALONE in seen and not look.plain else "",
    ]
    about = [
        "share: what you would play clean or fluent under your usual conditions, judged from the"
        " first go of each day; recent goes weigh more.",
        "tempo: share of the goal." if look.plain or look.width >= _TEMPO_FROM else "",
        "clean at goal now: the chance that the first go of today, at goal tempo, comes out clean,"
        " judged from such goes before; of several keys the mean.",
        "waits for: what they lack to be owned; both is tempo and memory."
        if look.plain or look.width >= _WAITS_FROM
        else "",
        f"Single keys: the plain share of first goes, with its Wilson {LEVEL:.0%} interval."
        if single
        else "",
    ]
    return Group(*(Text(" ".join(filter(None, each)), style.QUIET) for each in (said, about)))


NOT_THERE = "not started or put aside"
SHAPES: dict[Level, str] = {"owned": "◆", "sure": "●", "unsure": "◐", "climbing": "○"}
_ASCII_SHAPES: dict[Level, str] = {"owned": "#", "sure": "+", "unsure": "~", "climbing": "/"}
_STYLES: dict[Level, str] = {
    "owned": style.SOUND,
    "sure": style.SOUND,
    "unsure": style.WEAK,
    "climbing": "",
}


def level_sign(level: Level, look: Look) -> str:
    """Return the shape and the letter of a level: ``◆O``."""
    return (_ASCII_SHAPES if look.ascii else SHAPES)[level] + level[0].upper()


def rows_by_phrase(cells: Sequence[Cell], mode: Third) -> dict[int, dict[int, Cell]]:
    """Return the cells of keys with one third by phrase, then by tonic, phrases as they come.

    Church modes stand with the major or minor keys that they share their tonic chord with.
    """
    rows: dict[int, dict[int, Cell]] = {}
    for cell in cells:
        if cell.key.third == mode:
            rows.setdefault(cell.phrase_id, {})[cell.key.tonic.pitch_class] = cell
    return rows


def tonics_round_circle(mode: Third, spelling: Spelling) -> list[tuple[int, str, str]]:
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
            parts += _plain_grid(rows, spelling, look) if look.plain else _drawn(
                rows, mode, spelling, look
            )  # fmt: skip
    return Group(*parts)


def _drawn(
    rows: dict[int, dict[int, Cell]], mode: Third, spelling: Spelling, look: Look
) -> list[RenderableType]:
    step = 4 if look.width >= 70 else 3 if look.width >= 50 else 2
    room = min(26, look.width - 12 * step - 1)
    keys = tonics_round_circle(mode, spelling)
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
    mark = level_sign(cell.level, look)
    return Text.assemble((mark, _STYLES[cell.level]), " " * (step - len(mark)))


def _padded(text: str, cells: int) -> str:
    return text + " " * max(0, cells - cell_len(text))


def _plain_grid(
    rows: dict[int, dict[int, Cell]], spelling: Spelling, look: Look
) -> list[RenderableType]:
    lines: list[RenderableType] = []
    for found in rows.values():
        one = next(iter(found.values()))
        title = clean(one.title, ascii=look.ascii)
        keys = {key.tonic.pitch_class: key for key in twelve(one.key.mode, spelling)}
        said = [
            f"{key.text(ascii=look.ascii)} {found[at].level}"
            for at, key in keys.items()
            if at in found
        ]
        if rest := len(keys) - len(said):
            said.append(f"{rest} {NOT_THERE}")
        lines.append(Text(f"{title}: {', '.join(said)}"))
    return lines


def level_words() -> dict[Level, str]:
    """Return what each level means."""
    return {
        "owned": "owned: two first goes in a row clean at goal, and it lasts",
        "sure": f"sure: at goal tempo, {SURE_ENOUGH:.0%} or more clean at goal now",
        "unsure": "unsure: at goal tempo, but less than that",
        "climbing": "climbing: below its goal tempo",
    }


def legend(look: Look) -> Text:
    """Say what the signs of the grid mean."""
    words = level_words()
    parts = [
        words[each] if look.plain else f"{level_sign(each, look)} {words[each]}" for each in LEVELS
    ]
    if not look.plain:
        parts.append(f"{'.' if look.ascii else '·'} {NOT_THERE}")
    return Text("; ".join(parts) + ".", style.QUIET)
