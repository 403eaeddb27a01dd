"""``phrases``, ``show`` and ``retire``: see and manage what there is."""

from __future__ import annotations

import contextlib
import time
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.completing import (
    key_names,
    known_titles,
    phrase_tags,
    sort_names,
    titles_to_retire,
)
from drillbox.cli.context import asked, clock
from drillbox.errors import BadInput, NotFound

if TYPE_CHECKING:
    from drillbox.practice.looping import Loop

PHRASE = Annotated[
    str,
    typer.Argument(
        metavar="PHRASE",
        help="Its title, the beginning of it, or its number.",
        autocompletion=known_titles,
    ),
]


def phrases(
    ctx: typer.Context,
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="WORD", help="Only those with these words in title or tags."),
    ] = None,
    tag: Annotated[
        str | None,
        typer.Option(metavar="TAG", help="Only those with this tag.", autocompletion=phrase_tags),
    ] = None,
    sort: Annotated[
        str | None,
        typer.Option(
            metavar="ORDER", help="By title, weakest, tempo or due.", autocompletion=sort_names
        ),
    ] = None,
    retired: Annotated[bool, typer.Option("--retired", help="List the retired phrases.")] = False,
) -> None:
    """List your phrases."""
    options = asked(ctx)
    from drillbox.practice.library import as_listed, lacking, matching, sorted_by
    from drillbox.screen.phrase_list import phrase_list
    from drillbox.screen.waiting import none_line

    with options.opened() as (store, preferences):
        found = as_listed(store, preferences, retired=retired)
        day = preferences.today(clock())
        shown = matching(found, words or (), tag) if found else []
        shown = sorted_by(store, preferences, shown, sort, day)
        if shown:
            options.show(phrase_list(shown, day, options.look))
        elif found:
            every = f"drillbox phrases{' --retired' if retired else ''}"
            raise NotFound("No phrase has all of these words", f"See them all: {every}")
        else:
            options.say("No phrase is retired." if retired else none_line(lacking(store)))


def show(
    ctx: typer.Context,
    phrase: PHRASE,
    key: Annotated[
        str | None,
        typer.Option(
            metavar="KEY",
            help="Show it in this key: Eb, F#m, D Dorian. Default: the written one.",
            autocompletion=key_names,
        ),
    ] = None,
    notes: Annotated[
        bool, typer.Option("--notes", help="List every note of the line with its role.")
    ] = False,
    aloud: Annotated[bool, typer.Option("--hear", help="Hear the line, once through.")] = False,
) -> None:
    """Show one phrase: its chart, its line, and all its keys."""
    options = asked(ctx)
    from drillbox.practice.library import view_phrase
    from drillbox.practice.looping import line_heard
    from drillbox.screen.phrase_list import phrase_screen
    from drillbox.store.phrase_rows import find_phrase

    with options.opened() as (store, preferences):
        record = find_phrase(store, phrase)
        view = view_phrase(store, preferences, record, clock(), key)
        options.show(phrase_screen(view, options.look, notes=notes))
        heard = line_heard(store, preferences, record, key) if aloud else None
    if heard:
        hear(heard, preferences.volume)


def hear(line: Loop, volume: int) -> None:
    """Play a line; Ctrl-C stops it. Raises BadInput where nothing can be heard."""
    from drillbox.terminal.presses import TIMEOUT, Press
    from drillbox.terminal.sounds import play_loop

    def wait(seconds: float) -> Press:
        time.sleep(seconds)
        return TIMEOUT

    with contextlib.suppress(KeyboardInterrupt):
        problem = play_loop(line.parts, line.options, volume, wait)
        if isinstance(problem, str):
            raise BadInput(
                problem, "Write it to a file instead: drillbox loop PHRASE --line --out FILE"
            )


def retire(
    ctx: typer.Context,
    phrase: Annotated[
        str,
        typer.Argument(
            metavar="PHRASE",
            help="Its title, the beginning of it, or its number.",
            autocompletion=titles_to_retire,
        ),
    ],
    back: Annotated[bool, typer.Option("--back", help="Bring it back into drills.")] = False,
) -> None:
    """Keep a phrase out of drills; nothing is lost."""
    options = asked(ctx)
    from drillbox.screen.look import clean
    from drillbox.store.phrase_rows import find_phrase, restore_phrase
    from drillbox.store.phrase_rows import retire_phrase as put_aside

    with options.opened() as (store, _):
        record = find_phrase(store, phrase, retired=back)
        (restore_phrase if back else put_aside)(store, record.id, clock())
    said = {
        (False, False): "is retired; --back brings it back.",
        (True, False): "is retired already.",
        (True, True): "is back in your drills.",
        (False, True): "isn't retired; nothing is changed.",
    }
    title = clean(record.title, ascii=options.look.ascii)
    options.say(f"'{title}' {said[record.retired, back]}")


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    for command in (phrases, show, retire):
        app.command(command.__name__)(command)
