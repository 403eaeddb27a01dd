"""``edit`` and ``delete``: change a phrase, take that back, or remove it for good."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.asking import agrees, agrees_to_delete, say_mode, say_readings
from drillbox.cli.commands.phrases import PHRASE
from drillbox.cli.completing import (
    key_names,
    known_titles,
    order_names,
    phrase_tags,
    turnaround_words,
)
from drillbox.cli.context import Asked, asked, clock
from drillbox.cli.given import CONCERT, PART, YES, adding_tags, refuse_both, taking_tags_off
from drillbox.errors import BadInput
from drillbox.output import counted

if TYPE_CHECKING:
    from drillbox.practice.editing import Wanted
    from drillbox.practice.preferences import Preferences
    from drillbox.store.access import Store
    from drillbox.store.values import PhraseRecord


def edit(
    ctx: typer.Context,
    phrase: Annotated[
        str | None,
        typer.Argument(
            metavar="PHRASE",
            help="Its title, the beginning of it, or its number.",
            autocompletion=known_titles,
        ),
    ] = None,
    title: Annotated[str | None, typer.Option(metavar="TITLE", help="Another title.")] = None,
    goal: Annotated[
        str | None,
        typer.Option(
            "--goal", "--tempo", metavar="N", help="Another goal, in quarter notes a minute."
        ),
    ] = None,
    order: Annotated[
        str | None,
        typer.Option(
            metavar="NAME",
            help="Another order for the keys to start in.",
            autocompletion=order_names,
        ),
    ] = None,
    key: Annotated[
        str | None,
        typer.Option(
            metavar="KEY",
            help="The right written key: Bb, F#m, D Dorian.",
            autocompletion=key_names,
        ),
    ] = None,
    meter: Annotated[str | None, typer.Option(metavar="METER", help="Another meter.")] = None,
    chart: Annotated[
        str | None, typer.Option(metavar="CHART", help="The new chart: 'Cm7 F7 | Bbmaj7 (G7)'.")
    ] = None,
    turnaround: Annotated[
        str | None,
        typer.Option(
            metavar="CHORDS",
            help="'take' the proposed one, 'decline' it, or one or two chords.",
            autocompletion=turnaround_words,
        ),
    ] = None,
    double_time: Annotated[
        bool | None,
        typer.Option("--double-time/--single-time", help="Whether the line runs in double time."),
    ] = None,
    octave_breaks: Annotated[
        bool | None,
        typer.Option(help="Break the octave where the line leaves your range."),
    ] = None,
    tag: Annotated[list[str] | None, adding_tags(phrase_tags)] = None,
    untag: Annotated[list[str] | None, taking_tags_off(phrase_tags)] = None,
    aside: Annotated[
        list[str] | None,
        typer.Option(
            "--aside",
            metavar="KEY",
            help="Don't drill this key; may be repeated.",
            autocompletion=key_names,
        ),
    ] = None,
    back: Annotated[
        list[str] | None,
        typer.Option(
            "--back",
            metavar="KEY",
            help="Drill it again; may be repeated.",
            autocompletion=key_names,
        ),
    ] = None,
    file: Annotated[
        Path | None,
        typer.Option("--file", metavar="FILE", help="Take key, chart and line from this file."),
    ] = None,
    part: PART = None,
    concert: CONCERT = False,
    afresh: Annotated[
        bool, typer.Option("--afresh", help="Start over: forget what you remember of it.")
    ] = False,
    undo: Annotated[bool, typer.Option("--undo", help="Undo the last edit.")] = False,
    yes: YES = False,
) -> None:
    """Change a phrase; it says what your memory of it keeps."""
    options = asked(ctx)
    from drillbox.practice.editing import Wanted
    from drillbox.store.phrase_rows import find_phrase

    wanted = Wanted(
        title, goal, order, key, meter, chart, turnaround, double_time, octave_breaks,
        tuple(tag or ()), tuple(untag or ()), tuple(aside or ()), tuple(back or ()),
        concert=concert, afresh=afresh,
    )  # fmt: skip
    if part is not None and file is None:
        raise BadInput("--part needs a file", "Name it with --file, or leave --part out.")
    if undo:
        if wanted != Wanted() or file is not None:
            raise BadInput("--undo takes no other change", "Undo first, then edit again.")
        take_back(options, phrase)
        return
    if both := keys_in_both(wanted):
        raise BadInput(f"{both} was given with --aside and with --back", "Leave one of them out.")
    if phrase is None:
        raise BadInput("No phrase was named", "As in: drillbox edit 'Late kettle' --goal 168")
    if wanted == Wanted(concert=concert) and file is None:
        raise BadInput(
            "Nothing to change", "Say what, as in: --goal 168. See: drillbox edit --help"
        )
    with options.opened() as (store, preferences):
        record = find_phrase(store, phrase)
        if file is not None:
            wanted = with_file(options, wanted, file, part, record, preferences)
        make_edit(options, store, preferences, record, wanted, yes=yes)
    say_readings(wanted.chart or "")
    say_mode(options, wanted.key or "")


def keys_in_both(wanted: Wanted) -> str:
    """Return the first key, as typed, that is to be put aside and drilled again; "" for none."""
    from drillbox.music.keys import parse_key

    back = {parse_key(each).tonic.pitch_class for each in wanted.back}
    return next((each for each in wanted.aside if parse_key(each).tonic.pitch_class in back), "")


def with_file(
    options: Asked,
    wanted: Wanted,
    file: Path,
    part: str | None,
    record: PhraseRecord,
    preferences: Preferences,
) -> Wanted:
    """Return what is wanted together with the phrase that a file holds."""
    from drillbox.cli.from_files import refuse_bad, report_problems
    from drillbox.practice.adding import read_file
    from drillbox.practice.preferences import as_read
    from drillbox.practice.taking import page_for

    refuse_both(file, wanted.chart)
    read = as_read(record.phrase, record.phrase.key, preferences)
    reading = read_file(
        file,
        part=part,
        tempo=read.tempo,
        title=record.title,
        key=read.key,
        sounding=record.phrase.key,
        meter=read.chart.meter,
    )
    report_problems(file.name, reading, ascii=options.look.ascii)
    refuse_bad(file.name, reading, keep_good=True)
    good = {each.phrase: each.concert for each in reading.tunes if each.phrase is not None}
    page = page_for(list(good), record.title, file.name)
    return replace(wanted, page=page, concert=wanted.concert or good[page])


def make_edit(
    options: Asked,
    store: Store,
    preferences: Preferences,
    record: PhraseRecord,
    wanted: Wanted,
    *,
    yes: bool,
) -> None:
    """Do an edit and show what it changes; where memory would be left behind, show it and ask.

    What isn't asked about is stored whoever reads the output.
    """
    from drillbox.practice.editing import carry_out, plan_edit
    from drillbox.screen.edit_preview import edit_screen

    plan = plan_edit(store, preferences, record, wanted)
    if plan.nothing:
        options.say("It is like that already; nothing is changed.")
        return
    asks = plan.afresh and not yes
    if asks:
        options.show(edit_screen(plan, options.look))
        if not agrees(options, "Start over?", f"Starting {record.title!r} over", yes=False):
            print("Nothing is changed.")
            return
    carry_out(store, plan, clock())
    if not asks:
        options.show(edit_screen(plan, options.look))
    options.say("Changed. To undo: drillbox edit --undo")


def take_back(options: Asked, phrase: str | None) -> None:
    """Undo the last edit, of a phrase or of all."""
    from drillbox.practice.editing import undo_edit
    from drillbox.store.phrase_rows import find_in_practice

    with options.opened() as (store, preferences):
        record = find_in_practice(store, phrase) if phrase is not None else None
        found = undo_edit(store, preferences, record, clock())
    options.say(f"{found.title!r} is as it was before its last edit.")


def delete(ctx: typer.Context, phrase: PHRASE, yes: YES = False) -> None:
    """Delete a phrase and its ratings for good, after a backup."""
    options = asked(ctx)
    from drillbox.practice.deleting import delete_phrase
    from drillbox.store.card_rows import cards_of
    from drillbox.store.phrase_rows import find_phrase

    with options.opened() as (store, _):
        record = find_phrase(store, phrase)
        count = sum(card.state.attempts for card in cards_of(store, record.id))
        log = f" and its {counted(count, 'go')}" if count else ""
        if not agrees_to_delete(options, record.title, yes, f"{log} for good"):
            print("Nothing is deleted.")
            return
        delete_phrase(store, record, clock())
    options.say(f"{record.title!r} is deleted.")


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("edit")(edit)
    app.command("delete")(delete)
