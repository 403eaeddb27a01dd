"""How a screen may be drawn: its size, what the terminal can show; and the console it goes to."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size
from rich.console import Console, ConsoleOptions, ConsoleRenderable, RenderHook, RenderResult
from rich.segment import Segment
from rich.text import Text

from drillbox.output import harmless, one_line

_ASCII = str.maketrans({
    "♭": "b", "♯": "#", "°": "o", "ø": "o", "Ø": "O", "–": "-", "—": "-", "·": "-", "…": "...",
    "‘": "'", "’": "'", "“": '"', "”": '"', "„": '"', "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE",
    "ß": "ss", "ł": "l", "Ł": "L",
})  # fmt: skip
"""What has no ASCII form by Unicode's decomposition, and is common in titles."""


@dataclass(frozen=True, slots=True)
class Look:
    """What a screen may use. ``plain`` says things line by line, for pipes and screen readers."""

    width: int = 80
    height: int = 24
    ascii: bool = False
    plain: bool = False

    @property
    def rule(self) -> str:
        """Return the character of a horizontal rule."""
        return "-" if self.ascii else "─"

    @property
    def bar_line(self) -> str:
        """Return the character of a bar line."""
        return "|" if self.ascii else "│"

    @property
    def dash(self) -> str:
        """Return the sign for a missing value."""
        return "-" if self.ascii else "–"

    @property
    def beat(self) -> str:
        """Return the sign of the sounding beat."""
        return "^" if self.ascii else "▲"

    @property
    def dot(self) -> str:
        """Return the sign between facts on one line."""
        return "-" if self.ascii else "·"


def clean(text: str, width: int = 0, *, ascii: bool = False) -> str:
    """Return a player's text made safe for one line of a terminal.

    Control and format characters go (bidi marks among them), line breaks are blanks; in ASCII
    mode the rest is folded, '?' for what has no ASCII form. ``width`` > 0 cuts to that
    many terminal cells, with an ellipsis.
    """
    kept = one_line(text)
    if ascii:
        parts = unicodedata.normalize("NFKD", kept.translate(_ASCII))
        plain = "".join(each for each in parts if not unicodedata.combining(each))
        kept = plain.encode("ascii", "replace").decode()
    if width and cell_len(kept) > width:
        mark = "..." if ascii else "…"
        kept = set_cell_size(kept, max(0, width - len(mark))).rstrip() + mark
    return kept


_MEASURE = Console(width=80, height=24)  # that breaking lines asks for; nothing is printed on it


def wrapped(text: str, width: int) -> list[str]:
    """Return a text as lines of at most ``width`` cells, of 8 where a terminal has even fewer."""
    return [line.plain.rstrip() for line in Text(text).wrap(_MEASURE, max(8, width)) if text]


def sentence(text: str, look: Look) -> list[str]:
    """Return a sentence in lines as wide as the screen; where they are plain, it is one line."""
    return [text] if look.plain else wrapped(text, look.width)


@dataclass(frozen=True, slots=True)
class Hanging:
    """A text after a head, its further lines under the first one's words; plain, it is one line."""

    head: str
    text: str
    style: str = ""
    head_style: str = ""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Yield the lines, as wide as there is room."""
        yield from [self._line(self.text)] if options.no_wrap else self.lines(options.max_width)

    def lines(self, width: int) -> list[Text]:
        """Return the lines, each of at most ``width`` cells."""
        room = cell_len(self.head)
        first, *more = wrapped(self.text, width - room) or [""]
        return [self._line(first), *(Text(f"{' ' * room}{part}", self.style) for part in more)]

    def _line(self, text: str) -> Text:
        return Text.assemble((self.head, self.head_style), text, style=self.style)


class HarmlessConsole(Console):
    """A console on which no text of a player or a file can drive the terminal."""

    def __init__(self, **settings: object) -> None:
        super().__init__(**settings)  # type: ignore[arg-type]
        self.push_render_hook(_Hook())


class _Hook(RenderHook):
    def process_renderables(self, renderables: list[ConsoleRenderable]) -> list[ConsoleRenderable]:
        return [_Harmless(each) for each in renderables]


@dataclass(frozen=True, slots=True)
class _Harmless:
    """A renderable whose text, and nothing else, is made harmless."""

    within: ConsoleRenderable

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        for text, style, control in console.render(self.within, options):
            kept = text if control else harmless(text, console.encoding)
            yield Segment(kept, style, control)
