"""Paint whole screens on a terminal, rewriting only the lines that changed."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TextIO

from drillbox.output import drawing


class Canvas:
    """A screen of lines. Each may hold colour codes; none may be wider than the terminal."""

    def __init__(self, out: TextIO | None = None) -> None:
        self._out = out or drawing(sys.stdout)
        self._shown: list[str] = []

    def paint(self, lines: Sequence[str]) -> None:
        """Show these lines from the top; nothing of the screen before stays."""
        codes = []
        if not self._shown:
            codes.append("\x1b[2J")
        for row, line in enumerate(lines):
            if row >= len(self._shown) or self._shown[row] != line:
                codes.append(f"\x1b[{row + 1};1H{line}\x1b[0m\x1b[K")
        if len(lines) < len(self._shown):
            codes.append(f"\x1b[{len(lines) + 1};1H\x1b[J")
        self._shown = list(lines)
        self._out.write("".join(codes))
        self._out.flush()

    def forget(self) -> None:
        """Take nothing for granted at the next painting: the terminal was resized or used."""
        self._shown = []
