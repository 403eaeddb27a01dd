"""What sets a simulated player's cards apart, drawn once from a seed.

Everything is multiplied and drawn for phrase, for key and for the card by itself; besides, one
card in eight is a trap, hard in this phrase only, once for the memory and once (other cards) for
the fingers. So how hard a card is isn't the sum of a phrase and a key, nor the same for both.

Constants (log-normal widths), fixed before any policy was tried: forgetting .35 for phrases,
.2 keys, .25 cards, traps forget twice as fast; the tempo that can be played at first is .6 of
the goal, widths .18, .08, .08, traps .8 of that; the rate of motor learning .15 phrases, .12
cards; what can be reached at all 1.45 of the goal, .08. Charts are of 8, 8, 16, 16 or 32
quarters, goals 100 to 200. A strong player learns with the fingers no faster than a middling one
(tempo is what they wait for), a weak one at .8 of the rate.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
ALL = slice(None)
TRANSFERS = ("none", "some", "much")
STRENGTHS = ("strong", "middling", "weak")
RATE = {"strong": 1.0, "middling": 1.0, "weak": 0.8}
TRAPS = 1 / 8


class Traits(NamedTuple):
    """Of every card: quarters of its chart, goal tempo, how fast it is forgotten (1: as usual),
    tempo at first, tempo that can be reached, and the rate of motor learning."""

    quarters: Floats
    goal: Floats
    forgetting: Floats
    start: Floats
    ceiling: Floats
    rate: Floats
    transfer: str = "none"
    strength: str = "middling"

    @property
    def phrases(self) -> int:
        """Return how many phrases there are."""
        return len(self.goal) // 12


def gainers(card: int, share: float) -> tuple[slice, Floats]:
    """Return the cards that gain by a go at one, and their shares of what it gains: siblings get
    the transfer's ``share``, where there is any."""
    first = card // 12 * 12
    cards = slice(first, first + 12) if share else slice(card, card + 1)
    shares = np.full(cards.stop - cards.start, share)
    shares[card - cards.start] = 1.0
    return cards, shares


def draw(seed: int, phrases: int, transfer: str, strength: str) -> Traits:
    """Return a player's cards; those of fewer phrases are not the first ones of more."""
    dice = np.random.default_rng([seed, phrases, 1])

    def spread(of_phrase: float, of_key: float, of_card: float) -> Floats:
        phrase = dice.normal(0, of_phrase, phrases).repeat(12)
        key = np.tile(dice.normal(0, of_key, 12), phrases)
        return np.asarray(np.exp(phrase + key + dice.normal(0, of_card, 12 * phrases)))

    def traps(harder: float) -> Floats:
        return np.where(dice.random(12 * phrases) < TRAPS, harder, 1.0)

    quarters = dice.choice([8.0, 8.0, 16.0, 16.0, 32.0], phrases).repeat(12)
    goal = dice.integers(100, 201, phrases).repeat(12).astype(float)
    return Traits(
        quarters,
        goal,
        forgetting=spread(0.35, 0.2, 0.25) * traps(2.0),
        start=0.6 * goal * spread(0.18, 0.08, 0.08) * traps(0.8),
        ceiling=1.45 * goal * spread(0.08, 0.0, 0.0),
        rate=RATE[strength] * spread(0.15, 0.0, 0.12),
        transfer=transfer,
        strength=strength,
    )


def alike(phrases: int = 1, transfer: str = "none", strength: str = "middling") -> Traits:
    """Return cards of which none is harder than another: goal 120, chart of 16 quarters."""
    one = np.ones(12 * phrases)
    return Traits(16 * one, 120 * one, one, 72 * one, 174 * one, one, transfer, strength)
