"""Where a line leaves the instrument's range, and where its octave is broken to keep within."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from drillbox.music.keys import Key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.practice.preferences import Preferences
from drillbox.store.values import CardRecord

if TYPE_CHECKING:
    from drillbox.music.moving.instruments import Breaks
    from drillbox.music.moving.transposition import Fit

Line = tuple[LineNote, ...]


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
    from drillbox.music.moving.instruments import broken_to_fit

    return tuple(replace(each, line=broken_to_fit(each.line, sounding)) for each in laid)


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
    from drillbox.music.moving.instruments import breaks_between

    found = [
        (preferences.shown_key(there.key, stored.key), breaks_between(here.line, there.line))
        for here, there in zip(plain, laid, strict=True)
    ]
    return tuple(each for each in found if each[1])
