"""See and manage phrases: one phrase in its keys, what is retired."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TYPE_CHECKING

from drillbox.music.charts import Chart
from drillbox.music.keys import Key, parse_key
from drillbox.music.phrases import Phrase
from drillbox.music.symbols.printed_chart import chart_text
from drillbox.practice.ahead.readiness import started_at_goal
from drillbox.practice.phrases.as_read import as_read, card_in, misfits
from drillbox.practice.phrases.octaves import breaks_taken
from drillbox.practice.settings.preferences import Preferences
from drillbox.practice.sitting.hinting import analysis_of
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.phrase_rows import list_phrases
from drillbox.store.values import CardRecord, PhraseOverview, PhraseRecord

if TYPE_CHECKING:
    from drillbox.music.analysis.whole import Analysis
    from drillbox.music.moving.octave_breaks import Breaks
    from drillbox.music.moving.transposition import Fit


@dataclass(frozen=True, slots=True)
class CardView:
    """One key of a phrase as it stands; ``clean`` is the chance that today's first go at goal
    tempo comes out clean, None before the first attempt and where it isn't practised."""

    key: Key
    chart: Chart
    tempo: int
    clean: float | None
    attempts: int
    due: date | None
    owned: bool
    aside: bool = False

    def key_text(self, *, ascii: bool) -> str:
        """Return the key's name."""
        return self.key.text(ascii=ascii)

    def chart_line(self, *, ascii: bool) -> str:
        """Return the chart in this key on one line."""
        return chart_text(self.chart, ascii=ascii)


@dataclass(frozen=True, slots=True)
class PhraseView:
    """One phrase as the player reads it, with its cards in the order in which its keys open.

    ``content`` is what is in it, in its written key or in the one that was asked for; then
    ``cards`` holds that key alone.
    """

    content: AnalysisView
    retired: bool
    cards: tuple[CardView, ...]
    today: date

    @property
    def phrase(self) -> Phrase:
        """Return the phrase as it reads in the key shown."""
        return self.content.phrase


def view_phrase(
    store: Store,
    preferences: Preferences,
    record: PhraseRecord,
    now: datetime,
    key: str | None = None,
) -> PhraseView:
    """Return a phrase with each of its keys as it stands now, or with the one that is named.

    Raises BadInput where ``key`` is none of the phrase's keys.
    """
    day = preferences.today(now)
    every = cards = cards_of(store, record.id)
    chosen = record.phrase.key
    if key is not None:
        cards = [card_in(record.phrase, cards, key, preferences)]
        chosen = cards[0].key
    started = started_at_goal(store, preferences.rules, day, record.id)
    clean = {card.card_id: chance for card, chance in started}
    return PhraseView(
        view_analysis(record, every, chosen, preferences),
        record.retired,
        tuple(_card_view(each, record.phrase, preferences, clean.get(each.id)) for each in cards),
        day,
    )


def as_listed(
    store: Store, preferences: Preferences, *, retired: bool = False
) -> list[PhraseOverview]:
    """Return the phrases for a list, each with its written key as the player reads it."""
    found = list_phrases(store, retired=retired)
    keys = [parse_key(each.key) for each in found]
    return [
        replace(each, key=preferences.shown_key(key, key).text())
        for each, key in zip(found, keys, strict=True)
    ]


def _card_view(
    card: CardRecord, phrase: Phrase, preferences: Preferences, clean: float | None
) -> CardView:
    state = card.state
    read = as_read(phrase, card.key, preferences)
    return CardView(
        key=read.key,
        chart=read.chart,
        tempo=state.tempo.tempo,
        clean=clean,
        attempts=state.attempts,
        due=state.due,
        owned=state.owned,
        aside=card.aside,
    )


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
