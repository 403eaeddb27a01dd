"""The controls as a screen shows them, in the footer and in the help; the screens between cards."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.screen import style
from drillbox.screen.look import Hanging, Look, clean, wrapped

Pair = tuple[str, str]
"""What is pressed, and a word for what it does."""


class Foot(NamedTuple):
    """What can be pressed now: what rates, the rest, and the two sides of a pedal."""

    ratings: tuple[Pair, ...]
    others: tuple[Pair, ...]
    pedal: tuple[Pair, ...] = ()


HELP_FRAME = 3  # lines of a page of help that are no help: its heading, a rule, what comes next
NO_FOOT = Foot((), ())


def footer(foot: Foot, look: Look) -> list[Text]:
    """Return the controls, as many to a line as fit."""
    return [
        *_lines(foot.ratings, look, style.CHORD),
        *_lines((*foot.pedal, *foot.others), look, ""),
    ]


def short_footer(foot: Foot, look: Look) -> list[Text]:
    """Return what rates alone, and where the other controls are found."""
    return _lines((*foot.ratings, *foot.pedal, *foot.others[-1:]), look, style.CHORD)


def _lines(pairs: Sequence[Pair], look: Look, weight: str) -> list[Text]:
    """Return the pairs, as many to a line as fit; words in the style ``weight``."""
    lines: list[Text] = []
    current = Text()
    for shown, word in pairs:
        item = Text.assemble((shown, style.CHORD), " ", (word, weight or style.QUIET))
        if current and cell_len(current.plain) + cell_len(item.plain) + 4 > look.width:
            lines.append(current)
            current = Text()
        current.append("  " if current else " ").append_text(item)
    return [*lines, current]


def help_screen(
    helps: Sequence[Pair], notes: Sequence[str], look: Look, page: int = 0
) -> RenderableType:
    """Draw a page of what each control does, and a few notes; on a low terminal there are two."""
    pages = help_pages(helps, notes, look)
    page = min(page, len(pages) - 1)
    last = page == len(pages) - 1
    return Group(
        Text(" Controls", style.TITLE),
        Text(look.rule * look.width, style.QUIET),
        *pages[page],
        Text(f" Press anything {'to return' if last else 'for the rest'}.", style.QUIET),
    )


def help_pages(helps: Sequence[Pair], notes: Sequence[str], look: Look) -> list[list[Text]]:
    """Return the help's lines page by page; what is said of one thing stays on one page."""
    said = [
        Hanging(f" {shown:<8}", what, head_style=style.CHORD).lines(look.width - 2)
        for shown, what in helps
    ]
    told = [[Text(f" {part}") for part in wrapped(note, look.width - 2)] for note in notes]
    room = max(1, look.height - HELP_FRAME)
    if sum(map(len, [*said, *told])) < room:
        told.insert(0, [Text("")])
    pages: list[list[Text]] = [[]]
    for lines in (*said, *told):
        if pages[-1] and len(pages[-1]) + len(lines) > room:
            pages.append([])
        pages[-1] += lines
    return pages


def over_screen(heading: str, closing: str, message: str, look: Look) -> RenderableType:
    """Draw the end of the session, where the last rating can still be taken back.

    ``closing`` says what can be pressed.
    """
    said, pressed = (
        wrapped(clean(text, ascii=look.ascii), look.width - 2) for text in (message, closing)
    )
    return Group(
        Text(f" {heading}", style.TITLE),
        Text(look.rule * look.width, style.QUIET),
        *(Text(f" {part}") for part in said),
        Text(""),
        *(Text(f" {part}", style.QUIET) for part in pressed),
    )


def paused_screen(look: Look) -> RenderableType:
    """Draw the pause, or say it in plain words."""
    if look.plain:
        return Text("Paused. Press anything to continue.")
    said = wrapped("Press anything to continue.", look.width - 2)
    return Group(
        Text(" Paused", style.TITLE),
        Text(look.rule * look.width, style.QUIET),
        *(Text(f" {part}", style.QUIET) for part in said),
    )
