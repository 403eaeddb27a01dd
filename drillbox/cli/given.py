"""What several commands are given alike: their common options, a day, a file to write, one beside
a chart."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Annotated, Any

import typer

from drillbox.errors import BadInput

_WEEKDAYS = "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"
YES = Annotated[bool, typer.Option("--yes", help="Don't ask first.")]
DRY_RUN = Annotated[
    bool, typer.Option("--dry-run", help="Show what would be stored, store nothing.")
]
CONCERT = Annotated[
    bool, typer.Option("--concert", help="It is at concert pitch, not as your instrument reads.")
]
PART = Annotated[
    str | None,
    typer.Option(metavar="PART", help="The part of a MusicXML file, or the voice of an ABC tune."),
]


def adding_tags(known: Callable[[typer.Context, str], list[str]]) -> Any:
    """Return the option that adds tags; ``known`` completes one."""
    words = "Add a tag; may be repeated."
    return typer.Option("--tag", metavar="TAG", help=words, autocompletion=known)


def taking_tags_off(known: Callable[[typer.Context, str], list[str]]) -> Any:
    """Return the option that takes tags off; ``known`` completes one."""
    words = "Take a tag off; may be repeated."
    return typer.Option("--untag", metavar="TAG", help=words, autocompletion=known)


def read_day(text: str) -> date:
    """Read a date such as 2026-03-01; raise BadInput for anything else.

    It lies in the years that an export may hold.
    """
    return _date(text, "Write it as 2026-03-01")


def _date(text: str, remedy: str) -> date:
    from drillbox.store.values import FIRST_YEAR, LAST_YEAR  # only where a day is named

    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        raise BadInput(f"{text[:40]!r} isn't a day", remedy) from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise BadInput(
            f"{day} is too far from today", f"Choose a year from {FIRST_YEAR} to {LAST_YEAR}."
        )
    return day


def read_coming_day(text: str, today: date) -> date:
    """Read a day to come: a date, or a weekday's name for the next such day after today.

    A weekday's first three letters do. Raises BadInput for a date before today and for what is
    neither.
    """
    word = text.strip().casefold()
    named = [at for at, each in enumerate(_WEEKDAYS) if len(word) > 2 and each.startswith(word)]
    if named:
        return today + timedelta(days=(named[0] - today.weekday() - 1) % 7 + 1)
    day = _date(text, "Name a weekday, as friday, or a date, as 2026-03-01")
    if day < today:
        raise BadInput(f"{day} is in the past", "Choose today or a later day.")
    return day


def read_out(text: str) -> Path:
    """Read what ``--out`` names; raise BadInput where it is empty."""
    return _named(text, BadInput("--out names no file", "Name one, as in --out FILE"))


def read_place(text: str) -> Path:
    """Read a folder or a file to write to or read from; raise BadInput where it is empty."""
    return _named(text, BadInput("'' names no folder or file", "Name one; . is this folder."))


def _named(text: str, problem: BadInput) -> Path:
    """Return a path, from the player's home where it begins there; raise the problem for an empty
    one, which would be this folder."""
    from drillbox.store.files import from_home  # only where a file is named

    if not text.strip():
        raise problem
    return from_home(text)


def refuse_both(file: object, chart: str | None) -> None:
    """Raise BadInput where both a file and a typed chart were given."""
    if file is not None and chart is not None:
        raise BadInput("Both a file and --chart were given", "Use one or the other.")
