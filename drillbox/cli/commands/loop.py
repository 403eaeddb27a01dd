"""``drillbox loop``: a file to play along with."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.commands.round import ORDER
from drillbox.cli.completing import click_names, key_names, known_titles, tune_titles
from drillbox.cli.context import Asked, asked, clock, waiting
from drillbox.cli.given import read_out
from drillbox.errors import BadInput, Interrupted

if TYPE_CHECKING:
    from drillbox.practice.looping import Heard, Loop, Wanted


def loop(
    ctx: typer.Context,
    phrase: Annotated[
        str | None,
        typer.Argument(
            metavar="PHRASE",
            help="Its title, the beginning of it, or its number.",
            autocompletion=known_titles,
        ),
    ] = None,
    tune: Annotated[
        str | None,
        typer.Option(
            "--tune",
            metavar="TUNE",
            help="A tune, instead of a phrase.",
            autocompletion=tune_titles,
        ),
    ] = None,
    *,
    out: Annotated[
        Path, typer.Option(metavar="FILE", help="A file named .wav or .mid.", parser=read_out)
    ],
    key: Annotated[
        str | None,
        typer.Option(metavar="KEY", help="The key (the written one).", autocompletion=key_names),
    ] = None,
    tempo: Annotated[
        str | None,
        typer.Option(
            metavar="N",
            help="The tempo (the key's present one; in a round its slowest key's).",
        ),
    ] = None,
    loops: Annotated[
        int | None,
        typer.Option(
            metavar="N", min=1, help="Times through (8; once in each key; 3 choruses of a tune)."
        ),
    ] = None,
    double: Annotated[
        bool | None,
        typer.Option("--double/--single", help="Click and bass in double time, or not."),
    ] = None,
    walking: Annotated[
        bool, typer.Option("--walking", help="A walking bass, not roots and fifths.")
    ] = False,
    turns: Annotated[
        bool, typer.Option("--round", help="All its keys, each leading into the next.")
    ] = False,
    order: ORDER = None,
    click: Annotated[
        str,
        typer.Option(
            metavar="BEATS",
            help="The beats clicked: every, 2-and-4, bar or off.",
            autocompletion=click_names,
        ),
    ] = "every",
    no_bass: Annotated[bool, typer.Option("--no-bass", help="Leave the bass out.")] = False,
    no_chords: Annotated[bool, typer.Option("--no-chords", help="Leave the chords out.")] = False,
    line: Annotated[bool, typer.Option("--line", help="Play the phrase's line, too.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Overwrite a file.")] = False,
) -> None:
    """Write a loop to play along with, as a WAV or MIDI file.

    It has a count-in, click, bass and chords.
    """
    from drillbox.music.phrases import check_tempo
    from drillbox.practice.looping import Heard, Wanted, clicks_named

    if phrase is not None and tune is not None:
        raise BadInput("Both a phrase and --tune were given", "Leave one of them out.")
    if phrase is None and tune is None:
        raise BadInput("Name a phrase, or a tune with --tune", "As in: drillbox loop 1 --out a.wav")
    if order is not None and not turns:
        raise BadInput("--order is for a round", "Add --round, or leave it out.")
    if walking and no_bass:
        raise BadInput("Both --walking and --no-bass were given", "Use one or the other.")
    speed = check_tempo(tempo) if tempo is not None else None
    wanted = Wanted(key, speed, loops, double, turns, order)
    heard = Heard(
        clicks_named(click),
        None if no_bass else "walking" if walking else "plain",
        chords=not no_chords,
        line=line,
    )
    write_loop(asked(ctx), phrase, tune, out, wanted, heard, force=force)


def write_loop(
    options: Asked, phrase: str | None, tune: str | None, out: Path, wanted: Wanted, heard: Heard,
    *, force: bool,
) -> None:  # fmt: skip
    """Render the loop into a file and name it; a file half written is never left."""
    from drillbox.practice.looping import check_kind, render
    from drillbox.store.files import check_place, refuse_folder, write_whole

    refuse_folder(out)
    kind = check_kind(out)
    check_place(out, example=f"loop{kind}", force=force)
    made = loop_made(options, phrase, tune, wanted, heard)
    try:
        with waiting("Mixing") as tick:
            write_whole(out, render(made, kind, tick))
    except KeyboardInterrupt:
        raise Interrupted("Stopped", "Nothing was written.") from None
    options.say(tell_written(options, made, out))


def loop_made(
    options: Asked, phrase: str | None, tune: str | None, wanted: Wanted, heard: Heard
) -> Loop:
    """Return the loop over the phrase or the tune that is named."""
    from functools import partial

    from drillbox.practice.fits import repertoire
    from drillbox.practice.looping import loop_of, tune_loop
    from drillbox.practice.tunes import cues_in
    from drillbox.store.phrase_rows import find_phrase
    from drillbox.store.tune_rows import find_tune

    with options.opened() as (store, preferences):
        if tune is not None:
            own = repertoire(store, preferences.rules, preferences.today(clock()))
            cues = partial(cues_in, own=own, preferences=preferences)
            return tune_loop(preferences, find_tune(store, tune).tune, wanted, heard, cues)
        record = find_phrase(store, phrase or "")
        return loop_of(store, preferences, record, wanted, heard)


def tell_written(options: Asked, made: Loop, out: Path) -> str:
    """Say what was written."""
    from drillbox.practice.looping import seconds
    from drillbox.screen.look import clean

    ascii = options.look.ascii
    title = clean(made.title, ascii=ascii)
    key = made.key.text(ascii=ascii)
    where = key
    if made.turns:
        where = f"{'twelve' if made.turns == 12 else made.turns} keys from {key}"
    if made.aside:
        away = ", ".join(each.text(ascii=ascii) for each in made.aside)
        where += f" (put aside: {away})"
    minutes, rest = divmod(round(seconds(made)), 60)
    return (
        f"{title} in {where} at {made.options.tempo}, {minutes}:{rest:02} min: "
        f"{clean(str(out), ascii=ascii)}"
    )


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("loop")(loop)
