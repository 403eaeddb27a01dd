"""``drillbox round``: a phrase through its keys without a stop."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Annotated

import typer

from drillbox.cli.commands.drill import BACKING, LISTEN, show_recap
from drillbox.cli.completing import (
    key_names,
    order_names,
    phrase_tags,
    phrase_titles,
    tune_titles,
)
from drillbox.cli.context import Asked, asked, clock
from drillbox.errors import BadInput
from drillbox.output import counted, tell

CHORUSES = 2
ORDER = Annotated[
    str | None,
    typer.Option(
        "--order",
        metavar="NAME",
        help="The order of the keys, instead of their own.",
        autocompletion=order_names,
    ),
]


def play_round(
    ctx: typer.Context,
    phrase: Annotated[
        str | None,
        typer.Argument(
            metavar="PHRASE",
            help="Its title, the beginning of it, or its number.",
            autocompletion=phrase_titles,
        ),
    ] = None,
    tune: Annotated[
        str | None,
        typer.Option(
            "--tune",
            metavar="TUNE",
            help="A tune, with the phrases that fit into it.",
            autocompletion=tune_titles,
        ),
    ] = None,
    tag: Annotated[
        str | None,
        typer.Option(
            metavar="TAG",
            help="Phrases with this tag, one after the other, from PHRASE on if you name one.",
            autocompletion=phrase_tags,
        ),
    ] = None,
    order: ORDER = None,
    start: Annotated[
        str | None,
        typer.Option(
            "--from", metavar="KEY", help="The key to begin in.", autocompletion=key_names
        ),
    ] = None,
    whole: Annotated[
        bool, typer.Option("--all", help="All twelve keys, not only those you have started.")
    ] = False,
    tempo: Annotated[
        str | None, typer.Option(metavar="N", help="The tempo, instead of its slowest key's.")
    ] = None,
    loops: Annotated[
        int | None,
        typer.Option(metavar="N", min=1, max=16, help="Times through each key, or choruses."),
    ] = None,
    backing: BACKING = None,
    listen: LISTEN = None,
) -> None:
    """Play a phrase through its keys without a stop, or a tune.

    A tune shows each phrase that fits a bar ahead.
    """
    options = asked(ctx)
    from drillbox.music.phrases import check_tempo

    if tune is not None and (phrase is not None or tag is not None):
        first = "a phrase" if phrase is not None else "--tag"
        raise BadInput(f"Both {first} and --tune were given", "Leave one of them out.")
    if phrase is None and tag is None and tune is None:
        raise BadInput("Name a phrase, or a tune with --tune", "As in: drillbox round 1")
    speed = check_tempo(tempo) if tempo is not None else None
    if tune is not None:
        if order is not None or start is not None:
            raise BadInput("A tune has its own keys", "Leave --order and --from out.")
        if listen is not None:
            raise BadInput("A tune isn't listened to", "Leave --listen out.")
        play_tune(options, tune, speed, loops or CHORUSES, backing, new=whole)
        return
    keys = (order, start, whole)
    if tag is not None:
        play_tag(options, tag, phrase, keys, lambda each, after: play_phrase(
            options, each, keys, speed, loops or 1, backing, listen, after=after
        ))  # fmt: skip
        return
    play_phrase(options, phrase or "", keys, speed, loops or 1, backing, listen)


NAMED = 3  # of the phrases that are left out; the others are counted
Keys = tuple[str | None, str | None, bool]
"""The order that a round is played in, the key it begins in, and whether new keys come too."""


def play_tag(
    options: Asked, tag: str, first: str | None, keys: Keys, play_one: Callable[[str, str], bool]
) -> None:
    """Play the phrases of a tag in turn, until one is stopped.

    ``play_one`` is given a title and the one after it, "" after the last.
    Those that can't be played so, as in a key that they haven't, are left out; some are named.
    """
    from drillbox.practice.library import tagged
    from drillbox.practice.rounds import why_not_played
    from drillbox.store.phrase_rows import find_in_practice, list_phrases, phrase

    order, start, whole = keys
    with options.opened() as (store, preferences):
        listed = tagged(list_phrases(store), tag)
        named = find_in_practice(store, first) if first is not None else None
        problems = {
            each.id: why_not_played(
                store, preferences, phrase(store, each.id), order=order, start=start, whole=whole
            )
            for each in listed
        }
    if named and named.id not in problems:
        raise BadInput(f"{named.title!r} doesn't have the tag {tag!r}", "Leave it out.")
    at = list(problems).index(named.id) if named else 0
    turn = [*listed[at:], *listed[:at]]
    able = [each for each in turn if problems[each.id] is None]
    left = [problem for each in turn if (problem := problems[each.id])]
    if left and (not able or (named and problems[named.id])):
        raise left[0]
    for problem in left[:NAMED]:
        tell(f"{problem.what}: left out")
    if len(left) > NAMED:
        tell(f"{counted(len(left) - NAMED, 'more phrase')} left out")
    titles = [each.title for each in able]
    for number, (each, after) in enumerate(zip(titles, [*titles[1:], ""], strict=True), start=1):
        options.say(f"{number} of {len(titles)}: {each}")
        if not play_one(each, after):
            return


def play_phrase(
    options: Asked,
    phrase: str,
    keys: Keys,
    speed: int | None,
    loops: int,
    backing: str | None,
    listen: str | None,
    *,
    after: str = "",
) -> bool:
    """Play a phrase through its keys: in an order, from a key, all of them or the open ones.

    ``after`` is the title of the phrase that follows. Return whether it was played to its end.
    """
    from drillbox.player.in_round import InRound
    from drillbox.player.playing import play
    from drillbox.practice.rounds import Round, round_cards
    from drillbox.store.phrase_rows import find_in_practice

    order, start, whole = keys
    with options.opened() as (store, stored):
        preferences = stored.with_backing(backing).with_listening(listen)
        record = find_in_practice(store, phrase)
        cards = round_cards(store, preferences, record, order=order, start=start, whole=whole)
        timed = options.terminal.interactive
        session = Round(
            store, preferences, cards, tempo=speed, loops=loops, now=clock(), timed=timed
        )
        played = InRound(session, clock, ascii=options.look.ascii, after=after)
        broken_off = play(played, options)
        show_recap(options, session)
        return not (broken_off or session.stopped)


def play_tune(
    options: Asked, tune: str, speed: int | None, choruses: int, backing: str | None, *, new: bool
) -> None:
    """Play a tune with what fits into it; ``new``: also in keys that were never played."""
    from drillbox.player.in_tune import InTune
    from drillbox.player.playing import play
    from drillbox.practice.fits import repertoire
    from drillbox.practice.tunes import Choruses, wanted_in
    from drillbox.store.tune_rows import find_tune

    with options.opened() as (store, stored):
        preferences = stored.with_backing(backing)
        found = find_tune(store, tune).tune
        found = replace(found, tempo=speed or found.tempo)
        own = repertoire(store, preferences.rules, preferences.today(clock()))
        wanted = wanted_in(found, own, preferences, new=new)
        if preferences.listen != "off":
            tell("A tune isn't listened to: rate each phrase yourself.")
        timed = options.terminal.interactive
        session = Choruses(
            store, preferences, found, wanted, choruses=choruses, now=clock(), timed=timed
        )
        play(InTune(session, clock, ascii=options.look.ascii), options)
        show_recap(options, session)


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("round")(play_round)
