"""``drillbox add``: bring phrases in from a typed chart, a file, or step by step."""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.asking import (
    Asking,
    Typed,
    Wanted,
    ask_until_right,
    check_given,
    decide_key,
    from_typing,
    say_mode,
    yes_or_no,
)
from drillbox.cli.completing import key_names, order_names
from drillbox.cli.context import Asked, asked, clock
from drillbox.cli.from_files import from_file, list_file
from drillbox.cli.given import CONCERT, DRY_RUN, PART
from drillbox.errors import BadInput
from drillbox.output import counted, tell

if TYPE_CHECKING:
    from drillbox.practice.adding import BroughtIn, Incoming
    from drillbox.practice.preferences import Preferences
    from drillbox.store.access import Store


@dataclass(frozen=True, slots=True)
class Choices:
    """How the player wants phrases to be taken in; None where nothing was said.

    ``confirm``: they were asked for step by step, and ask once more before storing.
    """

    turnaround: bool | None
    order: str | None
    concert: bool
    confirm: bool
    dry_run: bool
    keep_good: bool
    details: bool
    octave_breaks: bool | None


def add(
    ctx: typer.Context,
    file: Annotated[
        Path | None,
        typer.Argument(metavar="FILE", help="An ABC or MusicXML file, one tune or many."),
    ] = None,
    title: Annotated[
        str | None,
        typer.Option(
            metavar="TITLE", help="The title; where a file holds many tunes, only with --tune."
        ),
    ] = None,
    key: Annotated[
        str | None,
        typer.Option(
            metavar="KEY",
            help="The written key: Bb, F#m, D Dorian. For a file: only if it names no "
            "key, or the wrong mode.",
            autocompletion=key_names,
        ),
    ] = None,
    tempo: Annotated[
        str | None,
        typer.Option(
            metavar="N", help="The goal, in quarter notes a minute, also where a file says another."
        ),
    ] = None,
    chart: Annotated[
        str | None, typer.Option(metavar="CHART", help="Bars of chords: 'Cm7 F7 | Bbmaj7 (G7)'.")
    ] = None,
    meter: Annotated[
        str | None,
        typer.Option(
            metavar="METER",
            help="The meter, 4/4 unless said otherwise; of a file where it has none.",
        ),
    ] = None,
    double_time: Annotated[
        bool, typer.Option("--double-time", help="The line runs in double time.")
    ] = False,
    turnaround: Annotated[
        bool | None,
        typer.Option(help="Take or decline a proposed turnaround."),
    ] = None,
    octave_breaks: Annotated[
        bool | None,
        typer.Option(help="Break the octave where a line leaves your range."),
    ] = None,
    order: Annotated[
        str | None,
        typer.Option(
            metavar="NAME", help="The order in which the keys start.", autocompletion=order_names
        ),
    ] = None,
    concert: CONCERT = False,
    part: PART = None,
    tune: Annotated[
        str | None,
        typer.Option(metavar="TUNE", help="One tune of many, by its number or its title."),
    ] = None,
    bars: Annotated[
        str | None,
        typer.Option(
            metavar="BARS", help="Only these bars of a tune, as 5-8; --list numbers them."
        ),
    ] = None,
    listing: Annotated[
        bool, typer.Option("--list", help="Show a file's bars with their chords, store nothing.")
    ] = False,
    keep_good: Annotated[
        bool, typer.Option("--keep-good", help="Store the readable tunes, skip the rest.")
    ] = False,
    details: Annotated[
        bool, typer.Option("--details", help="Show every tune of a file in all its keys.")
    ] = False,
    dry_run: DRY_RUN = False,
) -> None:
    """Bring phrases in, typed or from a file; alone, step by step."""
    typed = Typed(title, key, tempo, meter, chart, double_time)
    options = asked(ctx)
    wanted = Wanted(typed, part, tune, bars, keep_good)
    if listing:
        refuse_with_list({
            "--title": title, "--tempo": tempo, "--double-time": double_time or None,
            "--turnaround": turnaround, "--octave-breaks": octave_breaks, "--order": order,
            "--bars": bars, "--keep-good": keep_good or None, "--details": details or None,
            "--dry-run": dry_run or None,
        })  # fmt: skip
        list_file(options, file, wanted, concert=concert)
        return
    if file is not None or wanted.of_a_file:
        came = from_file(options, file, wanted)
    else:
        came = [typed_in(options, typed, order)]
    stepwise = file is None and chart is None
    in_full = details or (file is None and not wanted.of_a_file)
    choices = Choices(
        turnaround, order, concert, stepwise, dry_run, keep_good, in_full, octave_breaks
    )
    finish(options, came, choices)


def refuse_with_list(given: dict[str, object]) -> None:
    """Raise BadInput for an option, None where it wasn't given, that changes nothing in a list."""
    for name, value in given.items():
        if value is not None:
            raise BadInput(
                f"With --list nothing is stored and {name} changes nothing",
                f"Leave out {name}, or --list.",
            )


def typed_in(options: Asked, typed: Typed, order: str | None) -> Incoming:
    """Return the phrase that was typed, in the key that is meant.

    What was given is refused before anything is asked, the order for its keys as well.
    """
    from drillbox.practice.adding import Incoming, check_chords

    if options.terminal.interactive and typed.missing:
        check_given(typed)
        typed = replace(typed, title=new_title(options, typed.title, order))
    phrase = from_typing(options, typed)
    say_mode(options, typed.key or "")
    check_chords(phrase.chart)
    return Incoming(decide_key(options, phrase))


def new_title(options: Asked, given: str | None, order: str | None) -> str:
    """Return the title given, or ask until there is one that no phrase has.

    Raises BadInput first for an order that can't be had in this store.
    """
    from drillbox.music.phrases import check_title
    from drillbox.practice.adding import check_free, check_order
    from drillbox.store.phrase_rows import all_titles

    taken, preferences = list[str](), options.defaults()
    if options.store_exists():
        with options.opened() as (store, preferences):
            taken = all_titles(store, retired=False)
    check_order(order, preferences)
    return ask_until_right("Title", lambda text: check_free(check_title(text), taken), given)


def finish(options: Asked, came: list[Incoming], choices: Choices) -> None:
    """Store the phrases and show them, unless this is a dry run.

    What is stored doesn't wait for who reads the output; only where the player was asked step
    by step do they see it all before they say yes.
    """
    from drillbox.practice.adding import check_order, keep

    if not options.store_exists():  # one that can't be had is refused before a store is made
        check_order(choices.order, options.defaults())
    if choices.dry_run and not options.store_exists():
        show(options, brought_in(options, came, choices, options.defaults(), None), choices)
        print("Dry run: nothing is stored.")
        return
    with options.opened() as (store, preferences):
        ready = brought_in(options, came, choices, preferences, store)
        if choices.confirm or choices.dry_run:
            show(options, ready, choices)
        if choices.dry_run:
            print("Dry run: nothing is stored.")
            return
        if choices.confirm and not ask_until_right("Store it? y/n", yes_or_no, None, "y"):
            print("Nothing is stored.")
            return
        kept = keep(store, [each.prepared for each in ready], clock())
        doubtful = 0 if choices.confirm else show(options, ready, choices)
    said = f"Stored {counted(len(kept), 'phrase')} in twelve keys"
    options.say(f"{said}; {doubtful} to check, above." if doubtful else f"{said}.")


def brought_in(
    options: Asked,
    came: list[Incoming],
    choices: Choices,
    preferences: Preferences,
    store: Store | None,
) -> list[BroughtIn]:
    """Return the phrases ready to be kept, saying what was done to them."""
    from drillbox.practice.adding import bring_in

    if choices.concert:
        came = [replace(each, concert=True) for each in came]
    return bring_in(
        came,
        preferences,
        Asking(options, preferences, turnaround=choices.turnaround, breaks=choices.octave_breaks),
        store=store,
        order=choices.order,
        skip_taken=choices.keep_good,
    )


def show(options: Asked, ready: list[BroughtIn], choices: Choices) -> int:
    """Show what was understood, the doubtful last; return how many of a file's are doubtful."""
    from drillbox.screen.lead_sheet import tune_lines, understood_screen

    if choices.details:
        for each in ready:
            options.show(understood_screen(each.view, options.look))
    doubtful = [
        each
        for each in ready
        if each.doubts or (not choices.details and (each.view.cautions or each.view.misfits))
    ]
    doubtful.sort(key=lambda each: bool(each.doubts))
    if not choices.details:
        sound = [each.view for each in ready if all(each is not other for other in doubtful)]
        options.show(tune_lines(sound, options.look))
        options.show(tune_lines([each.view for each in doubtful], options.look, doubtful=True))
    sys.stdout.flush()  # the lines on stderr belong below
    for each in doubtful:
        for line in each.doubts:
            tell(line)
    return len(doubtful)


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("add")(add)
