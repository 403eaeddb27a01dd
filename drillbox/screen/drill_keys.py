"""The keys of a drill: the footer, the help, and the screens between cards."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.screen import style
from drillbox.screen.look import Look, clean, wrapped

CAUTION = (
    "Rest five minutes in each half hour, stop on pain, mind the volume. Not medical advice; "
    "ask a licensed professional, and follow local rules on noise."
)
REST = f"You have played for 25 minutes. {CAUTION}"
OVER_LINE = "No card is left in this session. u takes the last rating back, any other key ends it."
HELP = (
    ("space", "count in; once more stops it"),
    ("l r c f", "rate: lost, rough, clean, fluent; the next card follows"),
    ("u", "take the last rating back"),
    ("h", "hint: targets, degrees, names"),
    ("s", "skip the card this session"),
    ("+ -", "a rung faster or slower now"),
    ("n", "note to self, for the hints"),
    ("p", "pause; no minute passes"),
    ("q", "stop; all ratings are kept"),
)
RATINGS = (("l", "lost"), ("r", "rough"), ("c", "clean"), ("f", "fluent"))
OTHERS = (
    ("h", "hint"),
    ("s", "skip"),
    ("u", "undo"),
    ("+", "faster"),
    ("-", "slower"),
    ("n", "note"),
    ("p", "pause"),
    ("q", "stop"),
)


def footer(look: Look) -> list[Text]:
    """Return the keys, as many to a line as fit."""
    return [
        *keys_lines(RATINGS, look, style.CHORD),
        *keys_lines((("space", "start"), *OTHERS, ("?", "keys")), look, ""),
    ]


def short_footer(look: Look) -> list[Text]:
    """Return the ratings alone, and where the other keys are found."""
    return keys_lines((*RATINGS, ("?", "keys")), look, style.CHORD)


def keys_lines(keys: Sequence[tuple[str, str]], look: Look, weight: str) -> list[Text]:
    """Return keys with a word for each, as many to a line as fit; words in the style ``weight``."""
    lines: list[Text] = []
    current = Text()
    for key, word in keys:
        item = Text.assemble((key, style.CHORD), " ", (word, weight or style.QUIET))
        if current and cell_len(current.plain) + cell_len(item.plain) + 4 > look.width:
            lines.append(current)
            current = Text()
        current.append("  " if current else " ").append_text(item)
    return [*lines, current]


def keys_line() -> str:
    """Say the keys on one line."""
    pairs = [f"{key} {word}" for key, word in (*RATINGS, *OTHERS[:5], OTHERS[-1])]
    return f"Keys: {', '.join(pairs)}."


def help_screen(look: Look) -> RenderableType:
    """Draw the keys with what each does."""
    return keys_screen(HELP, ("After the third hint no more than rough counts.",), look)


def help_lines() -> list[str]:
    """Say the keys with what each does, line by line."""
    return [f"{key}: {what}" for key, what in HELP]


def keys_screen(
    keys: Sequence[tuple[str, str]], notes: Sequence[str], look: Look
) -> RenderableType:
    """Draw keys with what each does, wrapped where the terminal is narrow, and a few notes."""
    lines: list[Text] = []
    for key, what in keys:
        for index, part in enumerate(wrapped(what, look.width - 11)):
            lines.append(Text.assemble(" ", (f"{'' if index else key:<8}", style.CHORD), part))
    said = [Text(f" {part}") for note in notes for part in wrapped(note, look.width - 2)]
    return Group(
        Text(" Keys", style.TITLE),
        Text(look.rule * look.width, style.QUIET),
        *lines,
        *([Text("")] if len(lines) + len(said) + 4 <= look.height else []),
        *said,
        Text(" Any key goes back.", style.QUIET),
    )


def over_screen(
    look: Look, message: str, heading: str = "That was the last card"
) -> RenderableType:
    """Draw the end of the session, where the last rating can still be taken back."""
    said = wrapped(clean(message, ascii=look.ascii), look.width - 2)
    closing = wrapped(
        "u takes the last rating back, any other key ends the session.", look.width - 2
    )
    return Group(
        Text(f" {heading}", style.TITLE),
        Text(look.rule * look.width, style.QUIET),
        *(Text(f" {part}") for part in said),
        Text(""),
        *(Text(f" {part}", style.QUIET) for part in closing),
    )


def paused_screen(look: Look) -> RenderableType:
    """Draw the pause."""
    said = wrapped("The minutes stand still. Any key goes on.", look.width - 2)
    return Group(
        Text(" Paused", style.TITLE),
        Text(look.rule * look.width, style.QUIET),
        *(Text(f" {part}", style.QUIET) for part in said),
    )
