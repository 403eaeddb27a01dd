"""How this player's recall grows and fades, learnt from their own latest attempts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import exp, log
from typing import NamedTuple, TypeVar

from drillbox.memory.candidates import Candidate
from drillbox.memory.newton import Prior, Trial, find_mode

LATEST = 1500  # so many attempts are some six weeks of daily practice; older ones were another you
LOST_SHARE = 0.1  # what a lost attempt, after which it is heard right once, adds against a recall
APART = 30  # days since another key of the phrase was played; more say no more, nor does never
# Before there is anything to learn from: one recall gives even odds a day later, and each
# doubling of the days costs what a tenfold of practice brings in about two steps. Assumed.
PRIOR = (-1.0, 1.3, 0.5, 0.0, -0.6, 0.3)
PULL = 3.0  # precision of the prior of each of these
EFFECT_PULL = 2.0  # precision of what sets a phrase or a key apart: they differ by some .7
_FEWEST = 20
_LEAST = (0.3, 0.1)  # practice helps and time harms, whatever the first days look like


class Seen(NamedTuple):
    """A card's first attempt on one practice day (``date.toordinal()``)."""

    card_id: int
    day: int
    recalled: bool


class Row(NamedTuple):
    """An attempt, and what stood behind it: practice in recalled attempts, days since the
    card and since another key of its phrase were played, and whether it was recalled the day
    before that it was played on; ``days`` is 0 for a first try."""

    phrase_id: int
    key: str
    practice: float
    days: int
    apart: int
    kept: bool
    recalled: bool


@dataclass(frozen=True, slots=True, eq=False)
class Learned:
    """What the latest attempts say; two are the same only if they are one object.

    The odds of recall are e^(base + phrase + key) · (1 + n)^growth · days^-fading ·
    apart^-together, n being the card's recalled attempts plus a share of its lost ones and
    apart the days since another key of the phrase was played; times e^kept where the latest
    attempt was recalled. A first try has the odds e^(base + first + phrase + key) ·
    apart^-together.
    """

    base: float = PRIOR[0]
    growth: float = PRIOR[1]
    fading: float = PRIOR[2]
    together: float = PRIOR[3]
    first: float = PRIOR[4]
    kept: float = PRIOR[5]
    phrases: Mapping[int, float] = field(default_factory=dict)
    keys: Mapping[str, float] = field(default_factory=dict)

    def ease(self, phrase_id: int, key: str) -> float:
        """Return how easy a card is: the log-odds that nothing else changes."""
        return self.base + self.phrases.get(phrase_id, 0.0) + self.keys.get(key, 0.0)

    def recall(self, ease: float, practice: float, days: int, apart: int, *, kept: bool) -> float:
        """Return the chance of recall of a card that was played before."""
        odds = ease + self.growth * log(1 + practice) - self.fading * log(max(1, days))
        odds += self.kept * kept
        return 1 / (1 + exp(self.together * _log_apart(apart) - odds))

    def first_try(self, ease: float, apart: int) -> float:
        """Return the chance of recall at the first try."""
        odds = ease + self.first
        return 1 / (1 + exp(self.together * _log_apart(apart) - odds))


def _log_apart(apart: int) -> float:
    return log(min(APART, max(1, apart)))


UNLEARNT = Learned()
_Value = TypeVar("_Value", int, str)


def learn(seen: Sequence[Seen], cards: Iterable[Candidate]) -> Learned:
    """Return what the attempts say, oldest first; all but the latest ``LATEST`` are left out.

    ``cards`` are the cards as they stand after all of these attempts; attempts at others are
    left out. Logistic regression with Normal priors: around ``PRIOR``, and around 0 for what
    sets a phrase or a key apart. A few dozen attempts are enough to see whether recall or
    mere practice makes this player remember.
    """
    rows = attempted(seen[-LATEST:], cards)
    if len(rows) < _FEWEST:
        return UNLEARNT
    phrases = _numbered(row.phrase_id for row in rows)
    keys = _numbered(row.key for row in rows)
    trials = [
        Trial(phrases[row.phrase_id], _columns(row, keys[row.key]), row.recalled) for row in rows
    ]
    prior = Prior(
        (*PRIOR, *(0.0 for _ in keys)),
        (*(PULL for _ in PRIOR), *(EFFECT_PULL for _ in keys)),
        EFFECT_PULL,
    )
    effects, weights = find_mode(trials, len(phrases), prior)
    base, growth, fading, together, first, kept = weights[: len(PRIOR)]
    return Learned(
        base,
        max(_LEAST[0], growth),
        max(_LEAST[1], fading),
        together,
        first,
        kept,
        dict(zip(phrases, effects, strict=True)),
        dict(zip(keys, weights[len(PRIOR) :], strict=True)),
    )


def _numbered(values: Iterable[_Value]) -> dict[_Value, int]:
    """Return the different values, each with its number from 0."""
    return {value: number for number, value in enumerate(dict.fromkeys(values))}


def _columns(row: Row, key: int) -> tuple[tuple[int, float], ...]:
    """Return what each of the weights of ``PRIOR`` is multiplied by, and the key's own."""
    apart, first = _log_apart(row.apart), row.days == 0
    values = 1.0, log(1 + row.practice), -log(max(1, row.days)), -apart, first, row.kept
    shown = tuple((column, float(value)) for column, value in enumerate(values) if value)
    return (*shown, (len(PRIOR) + key, 1.0))


def attempted(seen: Sequence[Seen], cards: Iterable[Candidate]) -> list[Row]:
    """Return what stood behind each attempt, oldest first.

    A card's counts now less those of these attempts are its counts before them. Left out is
    the first attempt of each card that was played before all of them, as nobody knows when.
    """
    of_card = {card.card_id: card for card in cards}
    known = [each for each in seen if each.card_id in of_card]
    counts = {
        each.card_id: [of_card[each.card_id].recalled, of_card[each.card_id].lost] for each in known
    }
    for each in known:
        counts[each.card_id][not each.recalled] -= 1
    last: dict[int, tuple[int, bool]] = {}
    latest: dict[int, tuple[int, int, int]] = {}  # of a phrase: day, its card, day of another
    rows = []
    for card_id, day, recalled in known:
        card, (good, lost) = of_card[card_id], counts[card_id]
        here, by, other = latest.get(card.phrase_id, (-APART, card_id, -APART))
        apart = day - (other if by == card_id else here)
        latest[card.phrase_id] = (day, card_id, other if by == card_id else here)
        if card_id in last or good + lost <= 0:
            practice = max(0, good) + LOST_SHARE * max(0, lost)
            before, kept = last.get(card_id, (day, False))
            days = max(1, day - before) if card_id in last else 0
            rows.append(Row(card.phrase_id, card.key, practice, days, apart, kept, recalled))
        counts[card_id][not recalled] += 1
        last[card_id] = day, recalled
    return rows
