"""Which cards of a phrase a round takes, in which order, and how each leads into the next."""

from __future__ import annotations

from collections.abc import Sequence

from drillbox.errors import BadInput
from drillbox.music.charts import Chart
from drillbox.music.keys import ORDERS, in_order
from drillbox.music.turnarounds import lead, turnaround_chord
from drillbox.practice.phrases.as_read import card_in
from drillbox.practice.settings.preferences import Preferences
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.values import CardRecord, PhraseRecord


def round_cards(
    store: Store,
    preferences: Preferences,
    record: PhraseRecord,
    *,
    order: str | None = None,
    start: str | None = None,
    whole: bool = False,
) -> list[CardRecord]:
    """Return the open cards of a phrase (all if ``whole``) in the order of a round.

    Keys that are put aside are left out.

    ``order`` names one of ``music.keys.ORDERS``; None keeps the order in which the phrase's
    keys open. ``start`` is the first key as the player reads it, the written one if None.
    Raises BadInput for an order or key that there isn't, for one put aside, and where no card
    is left.
    """
    every = cards_of(store, record.id)
    cards = [each for each in every if not each.aside]
    first = cards[0]
    if start is not None:
        first = card_in(record.phrase, every, start, preferences)
        if first.aside:
            raise BadInput(
                f"{start} is put aside for {record.title!r}",
                f"Begin in another key, or take it back: drillbox edit {record.id} --back {start}",
            )
    taken = [each for each in _ordered(cards, first, order, preferences) if whole or is_open(each)]
    if start is not None and first not in taken:
        raise BadInput(
            f"{record.title} isn't started in {start} yet", "Take all twelve with --all."
        )
    if not taken:
        raise BadInput(
            f"No key of {record.title} is started yet",
            "Drill it first, or take all twelve with --all.",
        )
    return taken


def _ordered(
    cards: Sequence[CardRecord], first: CardRecord, order: str | None, preferences: Preferences
) -> list[CardRecord]:
    if order is None:
        place = cards.index(first)
        return [*cards[place:], *cards[:place]]
    if order not in ORDERS:
        raise BadInput(f"{order!r} isn't an order of keys", f"Choose one of {', '.join(ORDERS)}.")
    own = preferences.own_order(first.key.mode)
    keys = in_order(first.key, order, preferences.spelling, own)
    by_tonic = {each.key.tonic.pitch_class: each for each in cards}
    tonics = [key.tonic.pitch_class for key in keys]
    return [by_tonic[tonic] for tonic in tonics if tonic in by_tonic]  # a key may be put aside


def is_open(card: CardRecord) -> bool:
    """Return whether a card was attempted before."""
    return card.state.memory is not None


def led_on(cards: Sequence[CardRecord]) -> list[Chart]:
    """Return the charts of cards with turnarounds that lead each to the next, the last home."""
    return [
        led_to(card, after) for card, after in zip(cards, [*cards[1:], *cards[:1]], strict=True)
    ]


def led_to(card: CardRecord, after: CardRecord) -> Chart:
    """Return a card's chart with a turnaround that leads to the first chord of another's."""
    sounding = after.chart.sounding()
    return lead(card.chart, sounding[0], after.key) if sounding else card.chart


def led_back(card: CardRecord) -> Chart:
    """Return a card's chart as it is played before it is repeated in a round.

    It is the chart itself; one that has no turnaround gets one, so that every time through
    is equally long.
    """
    return card.chart if turnaround_chord(card.chart) else led_to(card, card)
