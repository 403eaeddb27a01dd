"""``drillbox listen``: hear a recording of an attempt, and propose its rating."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.context import Asked, asked
from drillbox.errors import BadInput

if TYPE_CHECKING:
    from drillbox.practice.listening import Click


def listen(
    ctx: typer.Context,
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="A recording: .mid or .wav.")
    ] = None,
    phrase: Annotated[
        str | None, typer.Option(metavar="PHRASE", help="The phrase that was played.")
    ] = None,
    key: Annotated[
        str | None, typer.Option(metavar="KEY", help="The key (the written one).")
    ] = None,
    tempo: Annotated[
        str | None,
        typer.Option(metavar="N", help="The click's tempo, if there was one (your own time)."),
    ] = None,
    start: Annotated[
        float | None,
        typer.Option(metavar="SECONDS", help="Where the first bar begins (found from the notes)."),
    ] = None,
) -> None:
    """Hear a recording of an attempt and propose its rating; nothing is stored or sent."""
    from drillbox.practice.intake import check_tempo
    from drillbox.practice.listening import Click

    if file is None or phrase is None:
        raise BadInput(
            "There is nothing to listen to",
            "Name a recording and its phrase, as in: drillbox listen take.wav --phrase 1",
        )
    if start is not None and tempo is None:
        raise BadInput("--start is for an attempt with a click", "Add --tempo, or leave it out")
    click = Click(check_tempo(tempo) if tempo is not None else None, start)
    hear(asked(ctx), file, phrase, key, click)


def hear(options: Asked, file: Path, phrase: str, key: str | None, click: Click) -> None:
    """Judge a recording and print the proposal."""
    from drillbox.practice.listening import Listener, hear_file
    from drillbox.practice.reading import card_in
    from drillbox.screen.look import clean
    from drillbox.store.cards import cards_of
    from drillbox.store.phrases import find_phrase

    ascii = options.look.ascii
    with options.opened() as (store, preferences):
        record = find_phrase(store, phrase)
        cards = cards_of(store, record.id)
        card = card_in(record.phrase, cards, key, preferences) if key else cards[0]
        listener = Listener(store, card, preferences, ascii=ascii)
    heard = hear_file(listener, file, click)
    title = clean(record.title, ascii=ascii)
    print(f"{title} in {listener.read.key.text(ascii=ascii)}")
    print(clean(heard.text, ascii=ascii))


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("listen")(listen)
