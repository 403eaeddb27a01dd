"""Where a line leaves the instrument's range, and where its octave is broken to keep within."""

from __future__ import annotations

from collections.abc import Sequence
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


def breaks_in(stored: Phrase, laid: Sequence[tuple[Key, Line]], preferences: Preferences) -> Breaks:
    """Return the keys, as read, in which the line breaks the octave, and where.

    ``laid`` as for ``misfits``.
    """
    from drillbox.music.moving.instruments import breaks_between  # only where a line is looked at

    found = ((key, breaks_between(stored.line, line)) for key, line in laid)
    return tuple((preferences.shown_key(key, stored.key), each) for key, each in found if each)
