"""``drillbox add``: bring phrases in from a typed chart, a file, or step by step."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.adding_files import Incoming, Wanted, from_file, list_file
from drillbox.cli.asking import Typed, asking, from_typing, yes_or_no
from drillbox.cli.completing import key_names, order_names
from drillbox.cli.context import Asked, asked, clock
from drillbox.cli.waiting import waiting
from drillbox.output import tell

if TYPE_CHECKING:
    from drillbox.music.phrases import Phrase
    from drillbox.practice.intake import Prepared
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
        typer.Option(help="Take, or decline, a turnaround proposed where there is none."),
    ] = None,
    octave_breaks: Annotated[
        bool | None,
        typer.Option(help="Break the octave, or not, where a line leaves your instrument."),
    ] = None,
    order: Annotated[
        str | None,
        typer.Option(help="The order in which the keys open.", autocompletion=order_names),
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
        bool, typer.Option("--keep-good", help="Store the good tunes of a file with bad ones.")
    ] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Show all, store nothing.")] = False,
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
        came = [Incoming(from_typing(options, typed))]
    stepwise = file is None and chart is None
    choices = Choices(turnaround, order, concert, stepwise, dry_run, keep_good, octave_breaks)
    finish(options, came, choices)


def take(
    options: Asked, came: list[Incoming], choices: Choices, preferences: Preferences
) -> list[Prepared]:
    """Return the phrases at concert pitch in twelve keys, saying what was done to them."""
    from drillbox.practice.intake import prepare, sounding

    say_written(preferences, [] if choices.concert else came)
    decided = []
    for each in came:
        phrase = each.phrase
        if not (each.concert or choices.concert):
            phrase = sounding(phrase, preferences)
        decided.append(decide_turnaround(options, preferences, phrase, choices.turnaround))
    prepared = []
    with waiting("Carrying through twelve keys") as tick:
        for number, phrase in enumerate(decided, start=1):
            prepared.append(prepare(phrase, preferences, order=choices.order))
            tick(number, len(decided))
    return [decide_breaks(options, preferences, each, choices.octave_breaks) for each in prepared]


def decide_breaks(
    options: Asked, preferences: Preferences, prepared: Prepared, wanted: bool | None
) -> Prepared:
    """Return the phrase with octaves broken where its line leaves the range, if that is taken."""
    from drillbox.practice.breaking import proposed_breaks, with_breaks
    from drillbox.screen.doubts import break_text
    from drillbox.screen.look import clean

    found = proposed_breaks(prepared, preferences) if wanted is not False else ()
    if not found:
        return prepared
    if wanted is None:
        meter, ascii = prepared.phrase.chart.meter, options.look.ascii
        said = f"{clean(prepared.phrase.title, 40, ascii=ascii)} leaves your instrument in "
        said += f"{len(found)} of its keys. The octave could be broken: "
        said += break_text(found, meter, options.look)
        if not options.terminal.interactive:
            tell(f"{said} (--octave-breaks takes it)")
            return prepared
        print(said)
        if not asking("Take it? y/n", yes_or_no, None, "y"):
            return prepared
    return with_breaks(prepared, preferences)


def say_written(preferences: Preferences, came: list[Incoming]) -> None:
    """Say on stderr that phrases were read in the written pitch of the player's instrument."""
    from drillbox.practice.intake import sounding

    written = [each.phrase for each in came if not each.concert]
    low = [sounding(each, preferences) for each in written]
    if low == written:
        return
    how = f"{written[0].key.text()} is concert {low[0].key.text()}"
    if low[0].key == written[0].key:
        how = "it sounds an octave lower"
    tell(f"Read as written for {preferences.instrument.name}: {how} (--concert declines it)")


def decide_turnaround(
    options: Asked, preferences: Preferences, phrase: Phrase, wanted: bool | None
) -> Phrase:
    """Return the phrase, with the turnaround proposed for it where that is taken."""
    from drillbox.music.printed_chart import chart_text
    from drillbox.practice.intake import proposed, with_chart
    from drillbox.practice.reading import as_read
    from drillbox.screen.look import clean

    chart = proposed(phrase, preferences) if wanted is not False else None
    if chart is None:
        return phrase
    read = as_read(with_chart(phrase, chart), phrase.key, preferences)
    text = chart_text(read.chart, ascii=options.look.ascii)
    title = clean(phrase.title, 40, ascii=options.look.ascii)
    if wanted is None and options.terminal.interactive:
        print(f"{title} has no turnaround. Proposed: {text}")
        return with_chart(phrase, chart) if asking("Take it? y/n", yes_or_no, None, "y") else phrase
    tell(f"{title}: turnaround added, {text} (--no-turnaround declines it)")
    return with_chart(phrase, chart)


def finish(options: Asked, came: list[Incoming], choices: Choices) -> None:
    """Show the phrases in twelve keys and store them, unless this is a dry run."""
    from drillbox.practice import intake
    from drillbox.practice.preferences import read_setting

    if choices.order is not None:
        read_setting("order", choices.order)
    if choices.dry_run and not options.store_exists():
        preferences = options.defaults()
        show(options, preferences, take(options, came, choices, preferences))
        print("Dry run: nothing is stored.")
        return
    with options.opened() as (store, preferences):
        if choices.keep_good:
            came = leave_taken_out(store, came)
        intake.check_new(store, [each.phrase for each in came])
        prepared = take(options, came, choices, preferences)
        show(options, preferences, prepared)
        if choices.dry_run:
            print("Dry run: nothing is stored.")
        elif choices.confirm and not asking("Store it? y/n", yes_or_no, None, "y"):
            print("Nothing is stored.")
        else:
            kept = intake.keep(store, prepared, clock())
            print(f"Stored {len(kept)} phrase{'s' if len(kept) != 1 else ''} in twelve keys.")


def leave_taken_out(store: Store, came: list[Incoming]) -> list[Incoming]:
    """Return the phrases whose titles are new, saying on stderr which aren't."""
    from drillbox.practice.intake import new_titles
    from drillbox.screen.look import clean

    new = new_titles(store, [each.phrase.title for each in came])
    for each, is_new in zip(came, new, strict=True):
        if not is_new:
            title = clean(each.phrase.title, 40)
            tell(f"{title}: there is a phrase of this title; this one is left out")
    return [each for each, is_new in zip(came, new, strict=True) if is_new]


def show(options: Asked, preferences: Preferences, prepared: list[Prepared]) -> None:
    """Show what was understood."""
    from drillbox.practice.breaking import breaks_of
    from drillbox.practice.intake import understood
    from drillbox.screen.intake import understood_screen

    for each in prepared:
        told = understood(each, preferences, breaks_of(each, preferences))
        options.show(understood_screen(told, options.look))


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("add")(add)
