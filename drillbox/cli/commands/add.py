"""``drillbox add``: bring phrases in from a typed chart, a file, or step by step."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.asking import Typed, asking, from_typing, yes_or_no
from drillbox.cli.completing import key_names, order_names
from drillbox.cli.context import Asked, asked, clock
from drillbox.cli.deciding import decide_breaks, decide_key, decide_turnarounds, say_written
from drillbox.cli.from_files import Incoming, Wanted, from_file, list_file
from drillbox.cli.waiting import waiting
from drillbox.output import tell

if TYPE_CHECKING:
    from drillbox.practice.phrases.intake import Prepared
    from drillbox.practice.settings.preferences import Preferences
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
        Path | None, typer.Argument(help="An ABC or MusicXML file, one tune or many.")
    ] = None,
    title: Annotated[str | None, typer.Option(help="The phrase's title.")] = None,
    key: Annotated[
        str | None, typer.Option(help="The written key: Bb, F#, Cm.", autocompletion=key_names)
    ] = None,
    tempo: Annotated[str | None, typer.Option(help="The goal, in quarter notes a minute.")] = None,
    chart: Annotated[
        str | None, typer.Option(help="Bars of chords: 'Cm7 F7 | Bbmaj7 (G7)'.")
    ] = None,
    meter: Annotated[str | None, typer.Option(help="The meter, 4/4 unless said otherwise.")] = None,
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
        typer.Option(help="The order in which the keys start.", autocompletion=order_names),
    ] = None,
    concert: Annotated[
        bool,
        typer.Option("--concert", help="It is at concert pitch, not as your instrument reads."),
    ] = False,
    part: Annotated[
        str | None, typer.Option(help="The part of a MusicXML file, or the voice of an ABC tune.")
    ] = None,
    tune: Annotated[
        str | None, typer.Option(help="One tune of many, by its number or its title.")
    ] = None,
    bars: Annotated[
        str | None, typer.Option(help="Only these bars of a tune, as 5-8; --list numbers them.")
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
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Show what would be stored, store nothing.")
    ] = False,
) -> None:
    """Bring a phrase in from a typed chart or a file; alone, ask step by step."""
    typed = Typed(title, key, tempo, meter, chart, double_time)
    options = asked(ctx)
    wanted = Wanted(typed, part, tune, bars, keep_good)
    if listing:
        list_file(options, file, wanted)
        return
    if file is not None or wanted.of_a_file:
        came = from_file(options, file, wanted)
    else:
        came = [Incoming(decide_key(options, from_typing(options, typed)))]
    stepwise = file is None and chart is None
    in_full = details or (file is None and not wanted.of_a_file)
    choices = Choices(
        turnaround, order, concert, stepwise, dry_run, keep_good, in_full, octave_breaks
    )
    finish(options, came, choices)


def take(
    options: Asked, came: list[Incoming], choices: Choices, preferences: Preferences
) -> list[Prepared]:
    """Return the phrases at concert pitch in twelve keys, saying what was done to them."""
    from drillbox.practice.phrases.intake import prepare, sounding

    say_written(preferences, [] if choices.concert else came)
    concert = [
        each.phrase if each.concert or choices.concert else sounding(each.phrase, preferences)
        for each in came
    ]
    decided = decide_turnarounds(options, preferences, concert, choices.turnaround)
    prepared = []
    with waiting("Carrying through twelve keys") as tick:
        for number, phrase in enumerate(decided, start=1):
            prepared.append(prepare(phrase, preferences, order=choices.order))
            tick(number, len(decided))
    return [decide_breaks(options, preferences, each, choices.octave_breaks) for each in prepared]


def finish(options: Asked, came: list[Incoming], choices: Choices) -> None:
    """Store the phrases and show them, unless this is a dry run.

    What is stored doesn't wait for who reads the output; only where the player was asked step
    by step do they see it all before they say yes.
    """
    from drillbox.practice.phrases import intake
    from drillbox.practice.settings.offered import read_setting

    if choices.order is not None:
        read_setting("order", choices.order)
    if choices.dry_run and not options.store_exists():
        preferences = options.defaults()
        show(options, preferences, came, take(options, came, choices, preferences), choices)
        print("Dry run: nothing is stored.")
        return
    with options.opened() as (store, preferences):
        if choices.keep_good:
            came = leave_taken_out(store, came)
        intake.check_new(store, [each.phrase for each in came])
        prepared = take(options, came, choices, preferences)
        if choices.confirm or choices.dry_run:
            show(options, preferences, came, prepared, choices)
        if choices.dry_run:
            print("Dry run: nothing is stored.")
            return
        if choices.confirm and not asking("Store it? y/n", yes_or_no, None, "y"):
            print("Nothing is stored.")
            return
        kept = intake.keep(store, prepared, clock())
        doubtful = 0
        if not choices.confirm:
            doubtful = show(options, preferences, came, prepared, choices)
    said = f"Stored {len(kept)} phrase{'s' if len(kept) != 1 else ''} in twelve keys"
    print(f"{said}; {doubtful} to check, above." if doubtful else f"{said}.")


def leave_taken_out(store: Store, came: list[Incoming]) -> list[Incoming]:
    """Return the phrases whose titles are new, saying on stderr which aren't."""
    from drillbox.practice.phrases.intake import new_titles
    from drillbox.screen.look import clean

    new = new_titles(store, [each.phrase.title for each in came])
    for each, is_new in zip(came, new, strict=True):
        if not is_new:
            title = clean(each.phrase.title, 40)
            tell(f"{title}: there is a phrase of this title already; this one is skipped")
    return [each for each, is_new in zip(came, new, strict=True) if is_new]


def show(
    options: Asked,
    preferences: Preferences,
    came: list[Incoming],
    prepared: list[Prepared],
    choices: Choices,
) -> int:
    """Show what was understood, the doubtful last; return how many of a file's are doubtful."""
    from drillbox.practice.phrases.intake import understood
    from drillbox.practice.phrases.octaves import breaks_of
    from drillbox.screen.intake_preview import tune_lines, understood_screen

    views = [understood(each, preferences, breaks_of(each, preferences)) for each in prepared]
    if choices.details:
        for view in views:
            options.show(understood_screen(view, options.look))
    doubtful = [
        (view, each.doubts)
        for view, each in zip(views, came, strict=True)
        if each.doubts or (not choices.details and (view.cautions or view.misfits))
    ]
    doubtful.sort(key=lambda each: bool(each[1]))
    if not choices.details:
        sound = [view for view in views if all(view is not other for other, _ in doubtful)]
        options.show(tune_lines(sound, options.look))
        options.show(tune_lines([view for view, _ in doubtful], options.look, doubtful=True))
    sys.stdout.flush()  # the lines on stderr belong below
    for _, doubts in doubtful:
        for line in doubts:
            tell(line)
    return len(doubtful)


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("add")(add)
