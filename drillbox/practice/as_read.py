"""What the player reads, and where the line leaves their instrument's range.

Everything in the store stands at concert pitch; a change of the instrument, or of how keys
are spelled, shows at once wherever something is read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from drillbox.errors import BadInput
from drillbox.music.keys import Key, parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.practice.preferences import Preferences
from drillbox.store.access import Store
from drillbox.store.phrase_rows import phrase
from drillbox.store.values import CardRecord

if TYPE_CHECKING:
    from drillbox.music.moving.instruments import Breaks
    from drillbox.music.moving.transposition import Fit

Line = tuple[LineNote, ...]


def as_read(stored: Phrase, key: Key, preferences: Preferences) -> Phrase:
    """Return a phrase in one of its concert keys as the player reads it.

    The line's note names are those that are read; its octave is left as it was written.
    """
    from drillbox.music.moving.instruments import (
        read_in,  # moving charts: only where something is moved
    )

    return read_in(stored, preferences.shown_key(key, stored.key))


def card_as_read(store: Store, card: CardRecord, preferences: Preferences) -> CardRecord:
    """Return a card with key, chart and line as the player reads them.

    The phrase is looked up only where they differ from what sounds.
    """
    if not preferences.transposes and preferences.shown_key(card.key) == card.key:
        return card
    stored = phrase(store, card.phrase_id).phrase
    if preferences.shown_key(card.key, stored.key) == card.key:
        return card
    read = as_read(stored, card.key, preferences)
    return replace(card, key=read.key, chart=read.chart, line=read.line)


def chosen_key(text: str, stored: Phrase, keys: Sequence[Key], preferences: Preferences) -> Key:
    """Return the concert key that the player names as they read it, in any spelling.

    Raises BadInput, naming the twelve, where it is none of the phrase's keys.
    """
    shown = {key: preferences.shown_key(key, stored.key) for key in keys}
    names = ", ".join(each.text() for each in shown.values())
    remedy = f"Its keys are {names}"
    try:
        wanted = parse_key(text)
    except BadInput as problem:
        raise BadInput(problem.what, remedy) from None
    for key, read in shown.items():
        if (read.tonic.pitch_class, read.mode) == (wanted.tonic.pitch_class, wanted.mode):
            return key
    raise BadInput(f"{stored.title!r} isn't played in {wanted.text()}", remedy)


def card_in(
    stored: Phrase, cards: Sequence[CardRecord], key: str, preferences: Preferences
) -> CardRecord:
    """Return the card in a key as the player reads it; raise BadInput where there is none."""
    chosen = chosen_key(key, stored, [each.key for each in cards], preferences)
    return next(each for each in cards if each.key == chosen)


def misfits(
    stored: Phrase, laid: Sequence[tuple[Key, Line]], preferences: Preferences
) -> tuple[tuple[Key, Fit], ...]:
    """Return the keys, as read, in which the line leaves the instrument's range, and how far.

    ``laid`` is the line in each key as it is kept, at concert pitch.
    """
    sounding = preferences.sounding_range
    if sounding is None:
        return ()
    from drillbox.music.moving.instruments import range_fit  # only where there is a range to fit

    fits = ((key, range_fit(line, sounding)) for key, line in laid)
    return tuple((preferences.shown_key(key, stored.key), fit) for key, fit in fits if not fit.fits)


def misfit_of(card: CardRecord, preferences: Preferences) -> Fit | None:
    """Return by how much a card's line leaves the instrument's range; None where it doesn't."""
    sounding = preferences.sounding_range
    if sounding is None or not card.line:
        return None
    from drillbox.music.moving.instruments import range_fit  # only where there is a range to fit

    fit = range_fit(card.line, sounding)
    return None if fit.fits else fit


def proposed_breaks(stored: Phrase, laid: Sequence[Phrase], preferences: Preferences) -> Breaks:
    """Return how octaves could be broken in the keys in which the line leaves the range."""
    return _breaks(stored, laid, with_breaks(laid, preferences), preferences)


def with_breaks(laid: Sequence[Phrase], preferences: Preferences) -> tuple[Phrase, ...]:
    """Return the lines with octaves broken in the keys in which they leave the range."""
    sounding = preferences.sounding_range
    if sounding is None:
        return tuple(laid)
    from drillbox.music.moving.instruments import broken

    return tuple(replace(each, line=broken(each.line, sounding)) for each in laid)


def breaks_taken(stored: Phrase, cards: Sequence[CardRecord], preferences: Preferences) -> Breaks:
    """Return where the lines of cards break the octave."""
    laid = [replace(stored, key=card.key, line=card.line) for card in cards]
    return breaks_in(stored, laid, preferences)


def breaks_in(stored: Phrase, laid: Sequence[Phrase], preferences: Preferences) -> Breaks:
    """Return where a phrase laid out in its keys breaks the octave."""
    sounding = preferences.sounding_range
    if sounding is None or not stored.line:
        return ()
    from drillbox.music.moving.transposition import phrase_to  # only where there is a range to fit

    plain = [phrase_to(stored, each.key, sounding_range=sounding) for each in laid]
    return _breaks(stored, plain, laid, preferences)


def _breaks(
    stored: Phrase, plain: Sequence[Phrase], laid: Sequence[Phrase], preferences: Preferences
) -> Breaks:
    from drillbox.music.moving.instruments import breaks

    found = [
        (preferences.shown_key(there.key, stored.key), breaks(here.line, there.line))
        for here, there in zip(plain, laid, strict=True)
    ]
    return tuple(each for each in found if each[1])
