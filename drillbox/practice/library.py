"""See and manage phrases: one phrase in its keys, what is retired."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from drillbox.memory.cards import owned
from drillbox.memory.day import practice_day
from drillbox.memory.recall import retrievability
from drillbox.music.charts import Chart
from drillbox.music.keys import Key
from drillbox.music.printed_chart import chart_text
from drillbox.practice.preferences import Preferences
from drillbox.store.cards import cards_of
from drillbox.store.opening import Store
from drillbox.store.values import CardRecord, PhraseRecord


@dataclass(frozen=True, slots=True)
class CardView:
    """One key of a phrase as it stands; ``recall`` is None before the first attempt."""

    key: Key
    chart: Chart
    tempo: int
    recall: float | None
    attempts: int
    due: date | None
    owned: bool

    def key_text(self, *, ascii: bool) -> str:
        """Return the key's name."""
        return self.key.text(ascii=ascii)

    def chart_line(self, *, ascii: bool) -> str:
        """Return the chart in this key on one line."""
        return chart_text(self.chart, ascii=ascii)


@dataclass(frozen=True, slots=True)
class PhraseView:
    """One phrase with its cards in the order in which its keys open."""

    title: str
    key: Key
    chart: Chart
    goal: int
    double_time: bool
    retired: bool
    cards: tuple[CardView, ...]
    today: date


def today(preferences: Preferences, now: datetime) -> date:
    """Return the player's practice day."""
    return practice_day(now, preferences.zone, preferences.rules.day_start_hour)


def view_phrase(
    store: Store, preferences: Preferences, record: PhraseRecord, now: datetime
) -> PhraseView:
    """Return a phrase with each of its keys as it stands now."""
    day = today(preferences, now)
    cards = tuple(_card_view(each, preferences, day) for each in cards_of(store, record.id))
    phrase = record.phrase
    return PhraseView(
        phrase.title,
        phrase.key,
        phrase.chart,
        phrase.tempo,
        phrase.double_time,
        record.retired,
        cards,
        day,
    )


def _card_view(card: CardRecord, preferences: Preferences, day: date) -> CardView:
    state, rules = card.state, preferences.rules
    return CardView(
        key=card.key,
        chart=card.chart,
        tempo=state.tempo.tempo,
        recall=retrievability(state.memory, day, rules.weights) if state.memory else None,
        attempts=state.attempts,
        due=state.due,
        owned=owned(state, card.goal, rules),
    )
