"""What is in a phrase, in one of its keys, as the player reads it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.music.keys import Key
from drillbox.music.phrases import Phrase
from drillbox.practice.phrases.as_read import as_read, misfits
from drillbox.practice.phrases.octaves import breaks_taken
from drillbox.practice.settings.preferences import Preferences
from drillbox.practice.sitting.hinting import analysis_of
from drillbox.store.values import CardRecord, PhraseRecord

if TYPE_CHECKING:
    from drillbox.music.analysis.whole import Analysis
    from drillbox.music.moving.octave_breaks import Breaks
    from drillbox.music.moving.transposition import Fit


@dataclass(frozen=True, slots=True)
class AnalysisView:
    """A phrase as it reads in one key, with all that is known of it.

    ``misfits`` are the keys, as read, in which the line leaves the range of the
    ``instrument``, and how far; ``breaks`` those in which it breaks the octave.
    """

    phrase: Phrase
    analysis: Analysis
    misfits: tuple[tuple[Key, Fit], ...]
    instrument: str
    breaks: Breaks = ()


def view_analysis(
    record: PhraseRecord, cards: Sequence[CardRecord], key: Key, preferences: Preferences
) -> AnalysisView:
    """Return what is in a phrase in a concert key of its twelve ``cards``."""
    phrase = record.phrase
    return AnalysisView(
        as_read(phrase, key, preferences),
        analysis_of(record),
        misfits(phrase, [(card.key, card.line) for card in cards], preferences),
        preferences.instrument.name,
        breaks_taken(phrase, cards, preferences),
    )
