"""``drillbox drill``: one drill session, by single keys or by lines of a pipe."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.completing import (
    backing_names,
    gig_titles,
    key_names,
    listening_names,
    phrase_tags,
    phrase_titles,
)
from drillbox.cli.context import Asked, asked, clock
from drillbox.errors import StoreFailure
from drillbox.output import counted, tell

if TYPE_CHECKING:
    from drillbox.practice.drilling import Drill
    from drillbox.practice.rounds import Legs
    from drillbox.store.access import Store

BACKING = Annotated[
    str | None,
    typer.Option(
        metavar="NAME",
        help="Under the beat: off, bass or bass-and-chords.",
        autocompletion=backing_names,
    ),
]
LISTEN = Annotated[
    str | None,
    typer.Option(
        metavar="HOW", help="Listen by midi or mic, or off.", autocompletion=listening_names
    ),
]


def drill(
    ctx: typer.Context,
    phrases: Annotated[
        list[str] | None,
        typer.Argument(metavar="PHRASE", help="Only these phrases.", autocompletion=phrase_titles),
    ] = None,
    key: Annotated[
        list[str] | None,
        typer.Option(
            metavar="KEY", help="Only this key; may be repeated.", autocompletion=key_names
        ),
    ] = None,
    tag: Annotated[
        list[str] | None,
        typer.Option(
            metavar="TAG",
            help="Only phrases with this tag; may be repeated.",
            autocompletion=phrase_tags,
        ),
    ] = None,
    gig: Annotated[
        str | None,
        typer.Option(
            metavar="GIG",
            help="Only what can be ready for this gig, at its tempos.",
            autocompletion=gig_titles,
        ),
    ] = None,
    weak: Annotated[bool, typer.Option("--weak", help="What the summary calls weak.")] = False,
    new: Annotated[bool, typer.Option("--new", help="Keys not started yet.")] = False,
    slow: Annotated[bool, typer.Option("--slow", help="The keys furthest below goal.")] = False,
    minutes: Annotated[
        int | None,
        typer.Option(metavar="N", min=1, max=240, help="Minutes for this session; see 'settings'."),
    ] = None,
    loops: Annotated[
        int | None,
        typer.Option(
            metavar="N",
            min=0,
            max=16,
            help="Times around each chart; 0: until you press something.",
        ),
    ] = None,
    backing: BACKING = None,
    listen: LISTEN = None,
) -> None:
    """Drill today's keys: play, rate with one press, go on.

    Phrases, keys, tags and a gig each narrow it further; --weak, --new and --slow add up.
    """
    options = asked(ctx)
    from drillbox.player.in_drill import InDrill
    from drillbox.player.playing import play
    from drillbox.practice.drilling import Drill
    from drillbox.store.card_rows import any_in_practice

    asked_for = (phrases or (), key or (), tag or (), weak, new, slow, gig)

    with options.opened() as (store, preferences):
        if not any_in_practice(store):
            from drillbox.practice.library import lacking  # both bring the analysis along
            from drillbox.screen.waiting import none_line

            check_names(store, phrases or (), tag or (), gig)
            options.say(none_line(lacking(store)))
            return
        narrowed = None
        if any(asked_for) or gig is not None:
            from drillbox.practice.narrowing import (  # brings the library along
                Narrowing,
                narrow,
            )

            narrowed = narrow(store, preferences, Narrowing(*asked_for), clock())
        session = Drill(
            store,
            preferences.with_loops(loops).with_backing(backing).with_listening(listen),
            minutes=minutes or preferences.rules.minutes,
            now=clock(),
            timed=options.terminal.interactive,
            only=narrowed.only if narrowed else None,
            goals=narrowed.goals if narrowed else None,
        )
        said = narrowed.line if narrowed else ""
        play(InDrill(session, clock, ascii=options.look.ascii, said=said), options)
        show_recap(options, session)


def check_names(store: Store, phrases: Sequence[str], tags: Sequence[str], gig: str | None) -> None:
    """Raise NotFound where a phrase, a tag or a gig of a name isn't there."""
    from drillbox.practice.library import tagged
    from drillbox.store.phrase_rows import find_phrase, list_phrases
    from drillbox.store.tune_rows import find_gig

    for each in phrases:
        find_phrase(store, each)
    for each in tags:
        tagged(list_phrases(store), each)
    if gig is not None:
        find_gig(store, gig)


def show_recap(options: Asked, session: Drill | Legs) -> None:
    """End the session and show what it came to."""
    from drillbox.screen.recap import recap_screen

    try:
        recap = session.finish(clock())
    except StoreFailure as problem:
        stored, unknown = len(session.rated), session.rater.unknown
        what = f"{counted(stored, 'rating')} of this session "
        what += f"{'is' if stored == 1 else 'are'} stored, its end isn't"
        if unknown:
            what += f"; it isn't known of {unknown} more"
        raise StoreFailure(what, "The store can't be reached now; look again later.") from problem
    if lost := session.rater.lost(session.rated):
        tell(
            f"drillbox: {lost} of the {counted(len(session.rated), 'rating')} of this session"
            f" {'is' if lost == 1 else 'are'} no longer in the store: its newest pages were"
            " damaged. Look it over: drillbox store check"
        )
    options.show(recap_screen(recap, options.look))


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("drill")(drill)
