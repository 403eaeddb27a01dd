"""What is taken out of a notation file: which of its tunes, which of their bars, in which key."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from drillbox.errors import BadInput, NotFound
from drillbox.music.keys import Key, key_before, parse_key
from drillbox.music.moving.transposition import in_signed_key, under_key
from drillbox.music.phrases import Phrase, check_title, excerpt, folded_title
from drillbox.music.pitch import Interval
from drillbox.music.symbols.typed import MOST_BARS, parse_meter

if TYPE_CHECKING:
    from drillbox.notation import Reading, Tune


def chosen_tune(reading: Reading, tune: str | None, name: str, *, of_one: bool) -> Reading:
    """Return what a file ``name`` has, with its one ``tune`` of a number or title, or with all.

    ``of_one`` tells that bars or a title were given, which are those of one tune. Raises
    NotFound where there is no such tune, BadInput where it has to be said which.
    """
    if tune is None:
        if of_one and len(reading.tunes) > 1:
            raise BadInput(
                f"{name} holds {len(reading.tunes)} tunes",
                "Say which with --tune (--list shows them).",
            )
        return reading

    def fits(each: Tune) -> bool:
        return tune.strip().casefold() in (str(each.index), each.title.casefold())

    found = next(filter(fits, reading.tunes), None)
    if found is None:
        raise NotFound(f"{name} has no tune {tune!r}", "See its tunes with --list.")
    return replace(reading, tunes=(found,))


def page_for(phrases: Sequence[Phrase], title: str, name: str) -> Phrase:
    """Return which phrase of a file is meant: its only one, or the one of the same title."""
    same = [each for each in phrases if folded_title(each.title) == folded_title(title)]
    found = same or list(phrases)
    if len(found) == 1:
        return found[0]
    several = f"{len(found)} tunes of the title {title!r}"
    raise BadInput(
        f"{name} has {several if same else f'{len(found)} tunes, and none is called {title!r}'}",
        "Leave one of them in it." if same else "Use that title in the file, or leave one tune.",
    )


def taken_from(
    page: Phrase, keys: Sequence[Key], bars: tuple[int, int] | None, title: str | None
) -> Phrase:
    """Return a page, or those bars of it, as a phrase under the title given or its own.

    ``keys`` are those of its bars: what is taken is in the key of its first bar. Raises
    BadInput for more bars than a phrase has.
    """
    taken = page
    if bars:
        taken = in_signed_key(replace(excerpt(page, *bars), key=keys[bars[0] - 1]))
    count = len(taken.chart.bars)
    if count > MOST_BARS:
        raise BadInput(f"{count} bars are too many for a phrase", f"Take {MOST_BARS} or fewer.")
    return replace(taken, title=check_title(title or taken.title))


def as_said(
    phrase: Phrase, name: str, *, key: str | None, meter: str | None, interval: Interval
) -> Phrase:
    """Return what a file ``name`` has, in the key that the player says its page is in.

    Its notes stay: the key may be another mode on its own tonic, or another key of its signature,
    as where a page in C moves as Cm or is in A minor. ``interval`` is that from the page to the
    phrase. Raises BadInput where the player says another key or meter than the file.
    """
    where, own = f"{name}: {phrase.title!r} is in", phrase.chart.meter
    said = parse_meter(meter) if meter is not None else own
    if said != own:
        raise BadInput(
            f"{where} {own.text()}, and --meter says {said.text()}",
            "Leave --meter out: it is for a file without a meter.",
        )
    if key is None:
        return phrase
    there, meant = key_before(phrase.key, interval), parse_key(key)
    if meant.tonic == there.tonic:
        return in_signed_key(replace(phrase, key=replace(phrase.key, mode=meant.mode)))
    if meant.tonic.pitch_class == there.tonic.pitch_class:
        return in_signed_key(under_key(phrase, meant.up(interval)))
    if (meant.fifths - there.fifths) % 12:
        raise BadInput(
            f"{where} {there.text()}, and --key says {meant.text()}",
            "Leave --key out, or write the other key in the file.",
        )
    return replace(phrase, key=phrase.key.relative(meant.mode))
