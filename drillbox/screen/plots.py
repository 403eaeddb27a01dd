"""Small plots of text: one column a week, a scale at the left, the first and last week below."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from rich.cells import cell_len
from rich.text import Text

from drillbox.screen import style
from drillbox.screen.days import date_text
from drillbox.screen.look import Look

ROWS = 3
_SCALE = 7  # cells of the scale, its line among them
_EIGHTHS = " ▁▂▃▄▅▆▇█"
_ASCII = " ..::::##"


def plot(
    title: str,
    values: Sequence[float | None],
    top: str,
    highest: float,
    mondays: Sequence[date],
    look: Look,
    room: int,
) -> list[Text]:
    """Return a plot as lines of ``room`` cells; ``top`` labels the value ``highest``.

    None is a week without a value. Where the weeks don't fit, the latest are drawn.
    """
    shown = values[-(room - _SCALE) :]
    first = mondays[len(values) - len(shown)]
    step = max(1, min(3, (room - _SCALE) // len(shown)))
    lines = [Text(_fit(title, room), style.TITLE)]
    for row in reversed(range(ROWS)):
        label = top if row == ROWS - 1 else "0" if row == 0 else ""
        drawn = "".join(_mark(value, highest, row, step, look) for value in shown)
        line = Text(f"{label:>{_SCALE - 2}} {look.bar_line}", style.QUIET)
        line.append(_fit(drawn, room - _SCALE), style.SOUND)
        lines.append(line)
    ends = f"{'':{_SCALE}}{date_text(first)}"
    if len(shown) * step >= 14:
        ends = f"{ends:<{_SCALE + len(shown) * step - 6}}{date_text(mondays[-1]):>6}"
    lines.append(Text(_fit(ends, room), style.QUIET))
    return lines


def top_of(shares: Sequence[float | None]) -> float:
    """Return the highest value of a plot of shares: all of it, or more where there was more, as
    of a goal that was lowered."""
    return max(1.0, *(share or 0.0 for share in shares))


def _mark(value: float | None, highest: float, row: int, step: int, look: Look) -> str:
    """Return the piece of one column in one row; what is more than nothing shows at the foot."""
    eighths = 0.0 if not value or highest <= 0 else value / highest * ROWS * 8
    height = max(1, round(eighths)) if eighths > 0 else 0
    piece = min(8, max(0, height - row * 8))
    sign = (_ASCII if look.ascii else _EIGHTHS)[piece]
    return sign * max(1, step - 1) + (" " if step > 1 else "")


def minutes_text(minutes: float) -> str:
    """Return minutes as whole ones; what is more than nothing doesn't show as 0."""
    return "<1" if 0 < minutes < 0.5 else f"{minutes:.0f}"


def _fit(text: str, room: int) -> str:
    return text + " " * max(0, room - cell_len(text))
