"""Give a hint at a card: a step of the ladder, from the analysis of its phrase."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, cast

from drillbox.store.access import Store
from drillbox.store.card_rows import card_again
from drillbox.store.phrase_rows import phrase
from drillbox.store.values import CardRecord, PhraseRecord

if TYPE_CHECKING:
    from drillbox.music.analysis.hints import HintBar, Level
    from drillbox.music.analysis.whole import Analysis
    from drillbox.music.moving.instruments import Break


@dataclass(frozen=True, slots=True)
class HintView:
    """A hint: its step on the ladder, 1 to 3, what it shows, its bars (0: the pickup), and where
    the line breaks the octave."""

    level: int
    title: str
    bars: tuple[HintBar, ...]
    breaks: tuple[Break, ...] = ()


def hint_for(
    store: Store, card: CardRecord, read: CardRecord, step: int, *, ascii: bool
) -> HintView:
    """Return a step (1 to 3) of the ladder of hints for a card, ``read`` as the player reads it.

    Raises NotFound where its phrase was deleted since it was read.
    """
    from drillbox.music.analysis.hints import hint, hint_title  # read only when asked for
    from drillbox.music.moving.instruments import breaks_between

    level, record = cast("Level", step), phrase_of(store, card)
    bars = hint(level, read.chart, read.line, analysis_of(record), ascii=ascii)
    title = hint_title(level, has_line=bool(read.line))
    return HintView(step, title, bars, breaks_between(record.phrase.line, card.line))


def phrase_of(store: Store, card: CardRecord) -> PhraseRecord:
    """Return a card's phrase; where its chart or line was changed since, as the card has them.

    Raises NotFound where it was deleted.
    """
    now = card_again(store, card)
    record = phrase(store, now.phrase_id)
    if (now.chart, now.line) == (card.chart, card.line):
        return record
    before = replace(record.phrase, key=card.key, chart=card.chart, line=card.line)
    return replace(record, phrase=before, analysis_document=None)


def analysis_of(record: PhraseRecord) -> Analysis:
    """Return the analysis made when the phrase came in, made now where there is no sound one."""
    from drillbox.music.analysis.whole import analyse  # read only when asked for

    try:
        return record.analysis() or analyse(record.phrase)
    except ValueError:  # stored by an import of an older drillbox, which believed documents
        return analyse(record.phrase)
