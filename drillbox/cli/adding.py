"""``drillbox add``: bring phrases in from a typed chart, a file, or step by step."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from drillbox.cli.context import Asked, asked, clock
from drillbox.errors import BadInput

if TYPE_CHECKING:
    from drillbox.music.phrases import Phrase
    from drillbox.notation import Problem, Reading
    from drillbox.practice.intake import Prepared

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Typed:
    """What stood on the command line about the phrase; None where nothing did."""

    title: str | None
    key: str | None
    tempo: str | None
    meter: str
    chart: str | None
    double_time: bool


def add(
    ctx: typer.Context,
    file: Annotated[
        Path | None, typer.Argument(help="An ABC or MusicXML file, one tune or many.")
    ] = None,
    title: Annotated[str | None, typer.Option(help="The phrase's title.")] = None,
    key: Annotated[str | None, typer.Option(help="The written key: Bb, F#, Cm.")] = None,
    tempo: Annotated[str | None, typer.Option(help="The goal, in quarter notes a minute.")] = None,
    chart: Annotated[
        str | None, typer.Option(help="Bars of chords: 'Cm7 F7 | Bbmaj7 (G7)'.")
    ] = None,
    meter: Annotated[str, typer.Option(help="The meter of a typed chart.")] = "4/4",
    double_time: Annotated[
        bool, typer.Option("--double-time", help="The line runs in double time.")
    ] = False,
    turnaround: Annotated[
        bool | None,
        typer.Option(help="Take, or decline, a turnaround proposed where there is none."),
    ] = None,
    order: Annotated[str | None, typer.Option(help="The order in which the keys open.")] = None,
    part: Annotated[str | None, typer.Option(help="The part of a MusicXML file.")] = None,
    keep_good: Annotated[
        bool, typer.Option("--keep-good", help="Store the good tunes of a file with bad ones.")
    ] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Show all, store nothing.")] = False,
) -> None:
    """Bring a phrase in from a typed chart or a file; alone, ask step by step."""
    typed = Typed(title, key, tempo, meter, chart, double_time)
    options = asked(ctx)
    if file is not None:
        phrases = from_file(file, typed, part, keep_good)
    else:
        phrases = [from_typing(options, typed)]
    stepwise = file is None and chart is None
    decided = [decide_turnaround(options, phrase, turnaround) for phrase in phrases]
    finish(options, decided, order=order, confirm=stepwise, dry_run=dry_run)


def from_file(file: Path, typed: Typed, part: str | None, keep_good: bool) -> list[Phrase]:
    """Read a file's phrases; say on stderr what is wrong, and raise BadInput if that stops it."""
    from drillbox.music.keys import parse_key
    from drillbox.practice.intake import check_tempo, check_title, read_file

    if typed.chart is not None:
        raise BadInput("Both a file and --chart were given", "Give one of them")
    reading = read_file(
        file,
        part=part,
        tempo=check_tempo(typed.tempo) if typed.tempo is not None else None,
        title=check_title(typed.title) if typed.title is not None else None,
        key=parse_key(typed.key) if typed.key is not None else None,
    )
    report(file.name, reading)
    good = [tune.phrase for tune in reading.tunes if tune.phrase is not None]
    bad = len(reading.tunes) - len(good)
    if bad and not (keep_good and good):
        remedy = "Mend the file" + (", or take the good ones with --keep-good" if good else "")
        raise BadInput(
            f"{bad} of {len(reading.tunes)} tunes in {file.name} can't be used; nothing is stored",
            remedy,
        )
    return [replace(phrase, title=check_title(phrase.title)) for phrase in good]


def report(name: str, reading: Reading) -> None:
    """Say on stderr, a line each, what is wrong or doubtful in a file."""

    def say(kind: str, title: str, problem: Problem) -> None:
        place = ":".join(str(n) for n in (problem.line, problem.column) if n is not None)
        print(
            f"{name}:{place}{':' if place else ''} {title}: {kind}{problem.text}", file=sys.stderr
        )

    from drillbox.screen.look import clean

    for tune in reading.tunes:
        title = clean(tune.title or f"tune {tune.index}", 40)
        for problem in tune.problems:
            say("", title, problem)
        for doubt in tune.doubts:
            say("doubtful: ", title, doubt)


def from_typing(options: Asked, typed: Typed) -> Phrase:
    """Return the phrase that was typed, asking for what is missing where there is a terminal."""
    from drillbox.practice.intake import typed_phrase

    missing = [n for n in ("title", "key", "tempo", "chart") if getattr(typed, n) is None]
    if not missing:
        return typed_phrase(
            title=typed.title or "",
            key=typed.key or "",
            tempo=typed.tempo or "",
            chart=typed.chart or "",
            meter=typed.meter,
            double_time=typed.double_time,
        )
    if not options.terminal.interactive:
        wanted = ", ".join(f"--{name}" for name in missing)
        raise BadInput(f"A phrase needs {wanted}", "Give them, or name a file")
    return step_by_step(typed, set(missing))


def step_by_step(typed: Typed, missing: set[str]) -> Phrase:
    """Ask for each missing thing until it is right; raise Interrupted if the player leaves."""
    from drillbox.music.keys import parse_key
    from drillbox.music.phrases import Phrase
    from drillbox.music.typed import parse_chart, parse_meter
    from drillbox.practice.intake import check_tempo, check_title

    alone = "chart" in missing
    title = asking("Title", check_title, typed.title)
    key = asking("Written key (Bb, F#, Cm)", parse_key, typed.key)
    tempo = asking("Goal tempo, quarter notes a minute", check_tempo, typed.tempo)
    meter = asking("Meter", parse_meter, None if alone else typed.meter, default=typed.meter)
    chart = asking(
        "Chart, as in  Dm7 G7 | Cmaj7 (A7)", lambda text: parse_chart(text, meter), typed.chart
    )
    double = typed.double_time or (alone and asking("Double time? y/n", yes_or_no, None, "n"))
    return Phrase(title, key, tempo, chart, double_time=double)


def asking(prompt: str, read: Callable[[str], T], given: str | None, default: str = "") -> T:
    """Return what ``read`` makes of the given text, or of the first answer that it takes."""
    from drillbox.terminal.lines import ask

    while True:
        try:
            return read(given if given is not None else ask(prompt, default))
        except BadInput as problem:
            if given is not None:
                raise
            print(f"  {problem.line()}", file=sys.stderr)


def yes_or_no(text: str) -> bool:
    """Read y or n; raise BadInput for anything else."""
    answer = text.strip().casefold()
    if answer in {"y", "yes"}:
        return True
    if answer in {"n", "no"}:
        return False
    raise BadInput(f"{text!r} is neither y nor n", "Press y or n, then Enter")


def decide_turnaround(options: Asked, phrase: Phrase, wanted: bool | None) -> Phrase:
    """Return the phrase, with the turnaround proposed for it where that is taken."""
    from drillbox.music.printed_chart import chart_text
    from drillbox.practice.intake import proposed, with_chart
    from drillbox.screen.look import clean

    chart = proposed(phrase) if wanted is not False else None
    if chart is None:
        return phrase
    text = chart_text(chart, ascii=options.look.ascii)
    title = clean(phrase.title, 40, ascii=options.look.ascii)
    if wanted is None and options.terminal.interactive:
        print(f"{title} has no turnaround. Proposed: {text}")
        return with_chart(phrase, chart) if asking("Take it? y/n", yes_or_no, None, "y") else phrase
    print(f"{title}: turnaround added, {text} (--no-turnaround declines it)", file=sys.stderr)
    return with_chart(phrase, chart)


def finish(
    options: Asked, phrases: list[Phrase], *, order: str | None, confirm: bool, dry_run: bool
) -> None:
    """Show the phrases in twelve keys and store them, unless this is a dry run."""
    from drillbox.practice import intake
    from drillbox.practice.preferences import read_setting

    named = str(read_setting("order", order)) if order is not None else None
    if dry_run and not options.store_exists():
        show(options, [intake.prepare(each, options.defaults(), order=named) for each in phrases])
        print("Dry run: nothing is stored.")
        return
    with options.opened() as (store, preferences):
        intake.check_new(store, phrases)
        prepared = [intake.prepare(each, preferences, order=named) for each in phrases]
        show(options, prepared)
        if dry_run:
            print("Dry run: nothing is stored.")
        elif confirm and not asking("Store it? y/n", yes_or_no, None, "y"):
            print("Nothing is stored.")
        else:
            kept = intake.keep(store, prepared, clock())
            print(f"Stored {len(kept)} phrase{'s' if len(kept) != 1 else ''} in twelve keys.")


def show(options: Asked, prepared: list[Prepared]) -> None:
    """Show what was understood."""
    from drillbox.screen.intake import understood

    for each in prepared:
        versions = [version.phrase for version in each.keys]
        warnings = [caution.text for caution in each.analysis.cautions]
        options.show(understood(each.phrase, versions, warnings, options.look))


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("add")(add)
