"""Large letters for chord symbols, keys and tempi: the project's own shapes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

GAP = 1  # columns between two letters
_HALVES = {"  ": " ", "# ": "▀", " #": "▄", "##": "█"}
_ASCII_HALVES = {"  ": " ", "# ": '"', " #": "_", "##": "#"}
# Four squares of ink in a cell: the upper two from left to right, then the lower two.
_QUARTERS = dict(
    zip(
        (
            f"{upper}{lower}"
            for upper in ("  ", "# ", " #", "##")
            for lower in ("  ", "# ", " #", "##")
        ),
        " ▖▗▄▘▌▚▙▝▞▐▟▀▛▜█",
        strict=True,
    )
)


@dataclass(frozen=True, slots=True)
class Alphabet:
    """Letters of one height. All rows of one letter are equally wide, ink is ``#``.

    ``halved``: two rows of ink share one line of text; ``slim``: two columns of it share one
    column as well, for which ASCII has no signs: there, letters of lines take their place.
    ``apart``: columns between two chords.
    """

    shapes: Mapping[str, tuple[str, ...]]
    ink_rows: int
    halved: bool
    apart: int
    slim: bool = False

    @property
    def lines(self) -> int:
        """Return how many lines of text a letter takes."""
        return self.ink_rows // 2 if self.halved else self.ink_rows

    def draw(self, text: str, *, ascii: bool) -> list[str]:
        """Return ``text`` as lines of equal width, in blocks or in ASCII.

        Letters b and the flat sign have one shape, as players write them. Raises ValueError for
        a character without one: a symbol with a part missing would be a wrong symbol.
        """
        shapes = [self._shape(sign) for sign in text]
        if self.slim:
            return [_quartered(shapes, row) for row in range(0, self.ink_rows, 2)]
        rows = [(" " * GAP).join(shape[row] for shape in shapes) for row in range(self.ink_rows)]
        if not self.halved:
            return rows if ascii else [row.replace("#", "█") for row in rows]
        halves = _ASCII_HALVES if ascii else _HALVES
        pairs = zip(rows[::2], rows[1::2], strict=True)
        return ["".join(halves[a + b] for a, b in zip(*pair, strict=True)) for pair in pairs]

    def width(self, text: str) -> int:
        """Return how many columns ``draw`` needs for ``text``; raises as it does."""
        widths = [len(self._shape(sign)[0]) for sign in text]
        if self.slim:
            return sum(each // 2 + 1 for each in widths)
        return sum(widths) + GAP * max(0, len(widths) - 1)

    def _shape(self, sign: str) -> tuple[str, ...]:
        if sign not in self.shapes:
            raise ValueError(f"{sign!r} has no large letter")
        return self.shapes[sign]


def _quartered(shapes: Sequence[tuple[str, ...]], row: int) -> str:
    """Return two rows of letters as one line, two columns of ink to a cell.

    Every letter begins a cell, so that it looks the same wherever it stands.
    """
    found = ""
    for shape in shapes:
        upper, lower = (ink + " " * (2 - len(ink) % 2) for ink in shape[row : row + 2])
        found += "".join(
            _QUARTERS[upper[i : i + 2] + lower[i : i + 2]] for i in range(0, len(upper), 2)
        )
    return found


def shapes_from(drawn: Sequence[str], rows: int) -> dict[str, tuple[str, ...]]:
    """Read letters, one a line: their signs, then their rows from top to bottom after colons.

    Rows that are left out at the end are blank, and so is the blank itself, two columns wide.
    """
    found = {" ": ("  ",) * rows}
    for line in drawn:
        signs, *inked = line.split(":")
        blank = " " * len(inked[0])
        for sign in signs.strip():
            found[sign] = tuple((inked + [blank] * rows)[:rows])
    return found
