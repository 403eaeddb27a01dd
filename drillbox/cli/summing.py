"""``summary``, ``progress``, ``upcoming`` and ``report``: how the player stands and what comes."""

from __future__ import annotations

import json
import os
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.context import asked, clock
from drillbox.errors import BadInput

if TYPE_CHECKING:
    from datetime import date


def summary(
    ctx: typer.Context,
    phrase: Annotated[
        str | None, typer.Option(metavar="PHRASE", help="One phrase, key by key.")
    ] = None,
    key: Annotated[str | None, typer.Option(metavar="KEY", help="One key, by phrases.")] = None,
    since: Annotated[
        str | None, typer.Option(metavar="DATE", help="Only attempts since that day: 2026-03-01.")
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="Show every row.")] = False,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print JSON for other programs instead.")
    ] = False,
) -> None:
    """Show which keys and phrases are weak, and how sure that is."""
    one_thread()
    options = asked(ctx)
    from drillbox.music.keys import parse_key
    from drillbox.practice.summing import Scope
    from drillbox.practice.summing import summary as sum_up
    from drillbox.store.phrases import find_phrase

    with options.opened() as (store, preferences):
        scope = Scope(
            find_phrase(store, phrase) if phrase else None,
            parse_key(key) if key else None,
            a_day(since) if since else None,
        )
        found = sum_up(store, preferences, clock(), scope)
        if as_json:
            from drillbox.screen.summary_json import summary_document

            print(json.dumps(summary_document(found), indent=1))
            return
        from drillbox.screen.summary import summary_screen

        options.show(
            summary_screen(
                found, options.look, preferences.rules, preferences.spelling, every=every
            )
        )


def a_day(text: str) -> date:
    """Read a date such as 2026-03-01; raise BadInput for anything else."""
    from datetime import date

    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise BadInput(f"{text!r} is no day", "Write it as 2026-03-01") from None


def one_thread() -> None:
    """Keep numpy's linear algebra to one thread: these matrices are small, and more only wait."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("summary")(summary)
