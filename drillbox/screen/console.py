"""The console that screens are printed on: what they say is made harmless on its way."""

from __future__ import annotations

from dataclasses import dataclass

from rich.console import Console, ConsoleOptions, ConsoleRenderable, RenderHook, RenderResult
from rich.segment import Segment

from drillbox.output import harmless


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
