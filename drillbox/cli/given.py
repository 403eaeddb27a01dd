"""What several commands are given alike: a day, a file beside a chart, ``--yes``."""

from __future__ import annotations

from datetime import date
from typing import Annotated

import typer

from drillbox.errors import BadInput

YES = Annotated[bool, typer.Option("--yes", help="Don't ask first.")]


def read_day(text: str) -> date:
    """Read a date such as 2026-03-01; raise BadInput for anything else."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise BadInput(f"{text!r} isn't a day", "Write it as 2026-03-01") from None


def refuse_past(day: date, today: date) -> None:
    """Raise BadInput for a day before today."""
    if day < today:
        raise BadInput(f"{day} has been already", "Choose today or a later day.")


def refuse_both(file: object, chart: str | None) -> None:
    """Raise BadInput where both a file and a typed chart were given."""
    if file is not None and chart is not None:
        raise BadInput("Both a file and --chart were given", "Use one or the other.")
