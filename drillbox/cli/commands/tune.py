"""``drillbox tune``: the tunes that your lines are for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.asking import Typed, agrees_to_delete, say_readings
from drillbox.cli.completing import key_names, tune_tags, tune_titles
from drillbox.cli.context import Asked, asked, clock
from drillbox.cli.given import (
    CONCERT,
    DRY_RUN,
    PART,
    YES,
    adding_tags,
    refuse_both,
    taking_tags_off,
)
from drillbox.errors import BadInput
from drillbox.output import counted, tell

if TYPE_CHECKING:
    from drillbox.practice.tunes import IncomingTune

TUNE = Annotated[
    str,
    typer.Argument(
        metavar="TUNE",
        help="Its title, the beginning of it, or its number.",
        autocompletion=tune_titles,
    ),
]
TAGS = Annotated[
    list[str] | None,
    typer.Option(
        "--tag", metavar="TAG", help="A tag for it; may be repeated.", autocompletion=tune_tags
    ),
]


def add(
    ctx: typer.Context,
    file: Annotated[
        Path | None,
        typer.Argument(metavar="FILE", help="An ABC or MusicXML file, one tune or many."),
    ] = None,
    title: Annotated[str | None, typer.Option(metavar="TITLE", help="The tune's title.")] = None,
    key: Annotated[
        str | None,
        typer.Option(metavar="KEY", help="Its key: Bb, F#m, D Dorian.", autocompletion=key_names),
    ] = None,
    tempo: Annotated[
        str | None,
        typer.Option(
            metavar="N", help="In quarter notes a minute, also where a file says another."
        ),
    ] = None,
    chart: Annotated[
        str | None, typer.Option(metavar="CHART", help="Bars of chords: 'Fmaj7 | Gm7 C7 | F6 | %'.")
    ] = None,
    meter: Annotated[
        str | None,
        typer.Option(
            metavar="METER",
            help="The meter, 4/4 unless said otherwise; of a file where it has none.",
        ),
    ] = None,
    form: Annotated[
        str, typer.Option(metavar="FORM", help="AABA, or with bars: 'intro4 A8 A8 B8 A8 coda2'.")
    ] = "",
    tag: TAGS = None,
    concert: CONCERT = False,
    part: PART = None,
    keep_good: Annotated[
        bool, typer.Option("--keep-good", help="Store the readable tunes, skip the rest.")
    ] = False,
    dry_run: DRY_RUN = False,
) -> None:
    """Bring in a tune's chords, typed or from a file.

    Its melody isn't kept.
    """
    options = asked(ctx)
    from drillbox.music.phrases import check_tags

    tags = check_tags(tag or [])
    if file is not None:
        refuse_both(file, chart)
        given = {"title": title, "key": key, "tempo": tempo, "meter": meter, "part": part}
        came = from_file(options, file, given, form, keep_good=keep_good)
    else:
        for name, value in {"--part": part, "--keep-good": keep_good or None}.items():
            if value is not None:
                raise BadInput(f"{name} needs a file", "Name one: drillbox tune add FILE")
        came = [from_typing(Typed(title, key, tempo, meter, chart), form)]
    if concert:
        came = [each._replace(concert=True) for each in came]
    finish(options, came, tags, keep_good=keep_good, dry_run=dry_run)


def from_typing(typed: Typed, form: str) -> IncomingTune:
    """Return the tune that was typed; raise BadInput where something is missing."""
    from drillbox.practice.tunes import typed_tune

    if typed.missing:
        raise BadInput(
            f"A tune needs {', '.join(f'--{name}' for name in typed.missing)}",
            "As in: drillbox tune add --title 'Tram to the lake' --key Bb --tempo 168"
            " --chart 'Cm7 F7 | Bbmaj7'; or name a file.",
        )
    say_readings(typed.chart or "")
    return typed_tune(
        title=typed.title or "", key=typed.key or "", tempo=typed.tempo or "",
        chart=typed.chart or "", meter=typed.in_meter, form=form,
    )  # fmt: skip


def from_file(
    options: Asked, file: Path, given: dict[str, str | None], form: str, *, keep_good: bool
) -> list[IncomingTune]:
    """Read a file's tunes; say on stderr what is wrong, and raise BadInput if that stops it."""
    from drillbox.cli.from_files import pages_told, refuse_bad, report_problems
    from drillbox.practice.tunes import IncomingTune, read_tunes, tune_of

    reading = read_tunes(file, **given)
    report_problems(file.name, reading, doubts=False, ascii=options.look.ascii)
    refuse_bad(file.name, reading, keep_good=keep_good)
    title = given["title"]
    if title is not None and len(reading.tunes) > 1:
        raise BadInput(
            f"{file.name} holds {len(reading.tunes)} tunes",
            "Leave --title out, or one tune in the file.",
        )
    said = pages_told(options, file.name, reading, key=given["key"], meter=given["meter"])
    return [IncomingTune(tune_of(page, title, form), each.concert) for each, page in said]


def finish(
    options: Asked,
    came: list[IncomingTune],
    tags: tuple[str, ...],
    *,
    keep_good: bool,
    dry_run: bool,
) -> None:
    """Store the tunes, unless this is a dry run, and show them as they were understood.

    What is stored doesn't wait for who reads the output.
    """
    from drillbox.practice.preferences import tune_as_read
    from drillbox.practice.tunes import check_new, parted_by_title, tune_at_concert
    from drillbox.screen.tune_list import tune_screen
    from drillbox.store.tune_rows import NewTune, add_tunes

    with options.opened() as (store, preferences):
        tunes = [tune_at_concert(each, preferences) for each in came]
        if keep_good:
            tunes, taken = parted_by_title(store, tunes)
            for each in taken:
                tell(f"{options.cleaned(each.title)}: left out, its title is taken")
        check_new(store, tunes)
        if not dry_run:
            add_tunes(store, [NewTune(each, tags) for each in tunes], clock())
        for each in tunes:
            options.show(tune_screen(tune_as_read(each, preferences), tags, options.look))
            print()
    print("Dry run: nothing is stored." if dry_run else f"Stored {counted(len(tunes), 'tune')}.")


def list_(
    ctx: typer.Context,
    tag: Annotated[
        str | None,
        typer.Option(metavar="TAG", help="Only tunes with this tag.", autocompletion=tune_tags),
    ] = None,
) -> None:
    """List your tunes."""
    options = asked(ctx)
    from drillbox.practice.preferences import tune_as_read
    from drillbox.practice.tunes import tunes_tagged
    from drillbox.screen.tune_list import tune_list
    from drillbox.store.tune_rows import list_tunes

    with options.opened() as (store, preferences):
        found = list_tunes(store)
        found = tunes_tagged(found, tag) if tag is not None else found
        rows = [(each.id, tune_as_read(each.tune, preferences), each.tags) for each in found]
    options.show(tune_list(rows, options.look))


def show(ctx: typer.Context, tune: TUNE) -> None:
    """Show one tune's chart; 'drillbox fits' shows where your phrases fit in it."""
    options = asked(ctx)
    from drillbox.practice.preferences import tune_as_read
    from drillbox.screen.tune_list import tune_screen
    from drillbox.store.tune_rows import find_tune

    with options.opened() as (store, preferences):
        record = find_tune(store, tune)
        options.show(tune_screen(tune_as_read(record.tune, preferences), record.tags, options.look))


def edit(
    ctx: typer.Context,
    tune: TUNE,
    title: Annotated[str | None, typer.Option(metavar="TITLE", help="Another title.")] = None,
    key: Annotated[
        str | None,
        typer.Option(
            metavar="KEY", help="The right key: Bb, F#m, D Dorian.", autocompletion=key_names
        ),
    ] = None,
    tempo: Annotated[
        str | None, typer.Option(metavar="N", help="Another tempo, in quarter notes a minute.")
    ] = None,
    meter: Annotated[str | None, typer.Option(metavar="METER", help="Another meter.")] = None,
    chart: Annotated[
        str | None, typer.Option(metavar="CHART", help="The new chart: 'Gm7 C7 | F6 | %'.")
    ] = None,
    form: Annotated[
        str | None, typer.Option(metavar="FORM", help="Another form: AABA; '' for none.")
    ] = None,
    tag: Annotated[list[str] | None, adding_tags(tune_tags)] = None,
    untag: Annotated[list[str] | None, taking_tags_off(tune_tags)] = None,
    concert: CONCERT = False,
) -> None:
    """Change a tune: its chords, tempo, title, form or tags; it stays in your gigs."""
    options = asked(ctx)
    from drillbox.practice.changing import change_tune
    from drillbox.practice.preferences import tune_as_read
    from drillbox.practice.tunes import Retuned, changed
    from drillbox.screen.tune_list import tune_screen
    from drillbox.store.tune_rows import NewTune, find_tune

    wanted = Retuned(
        title, key, tempo, meter, chart, form, tuple(tag or ()), tuple(untag or ()), concert
    )
    if wanted._replace(concert=False) == Retuned():
        raise BadInput(
            "Nothing to change", "Say what, as in: --tempo 150. See: drillbox tune edit --help"
        )
    say_readings(chart or "")
    with options.opened() as (store, preferences):
        record = find_tune(store, tune)
        new = changed(record, wanted, preferences)
        if new == NewTune(record.tune, record.tags):
            options.say("It is like that already; nothing is changed.")
            return
        change_tune(store, record, new, clock())
        options.show(tune_screen(tune_as_read(new.tune, preferences), new.tags, options.look))
    print()
    options.say(f"{new.tune.title!r} is changed.")


def delete(ctx: typer.Context, tune: TUNE, yes: YES = False) -> None:
    """Delete a tune, also from your gigs, after a backup."""
    options = asked(ctx)
    from drillbox.practice.deleting import delete_tune
    from drillbox.store.tune_rows import gigs_with, name_tune

    with options.opened() as (store, _):
        record = name_tune(store, tune)
        gigs = gigs_with(store, record)
        losing = f", also from {options.cleaned(', '.join(gigs))}" if gigs else ""
        if not agrees_to_delete(options, record.title, yes, losing):
            print("Nothing is deleted.")
            return
        delete_tune(store, record, clock())
    options.say(f"{record.title!r} is deleted{losing}.")


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    group = typer.Typer(
        help="Keep the chords of the tunes you play.", rich_markup_mode=None, no_args_is_help=True
    )
    group.command("add")(add)
    group.command("list")(list_)
    group.command("show")(show)
    group.command("edit")(edit)
    group.command("delete")(delete)
    app.add_typer(group, name="tune")
