"""The chance of a clean go at a tempo today, learnt from the player's own cold goes.

Everywhere that the player sees a chance, and wherever choosing needs one, it is this one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import exp, log
from typing import NamedTuple, TypeVar

from drillbox.memory.candidates import Candidate
from drillbox.memory.leniency import NO_MISSES, Misses, is_lenient
from drillbox.memory.newton import Prior, Trial, find_mode
from drillbox.memory.recall import Recall

LATEST = 1500  # so many cold goes are some weeks of daily practice; older ones were another you
NEWEST = 100  # how the newest of them went counts by itself: as things are going just now
EVER_FIRST = 300  # so many cards' very first goes from before them count as well: see ``learn``
MISSED_SHARE = 0.3  # what a missed go adds to practice against a clean one: see ``practised``
MOST_MISSED = 5, 2  # of missed ones so many count, and so many more for each clean one
APART = 30  # days since a key of the phrase was played; more say no more, nor does never
# Before there is anything to learn from. Assumed: base, growth, fading, together, first, kept,
# steep (by how much the log-odds fall for each tenth, in natural logarithm, of tempo), lent (how
# much of that each tenth by which the phrase's other keys are ahead brings a first try), by how
# much the newest goes went better than the others, and what another key of the phrase brings that
# was played earlier on the day.
PRIOR = (-0.3, 0.8, 0.4, 0.0, 0.5, 0.4, 0.8, 0.3, 0.0, 0.0)
PULL = 3.0  # precision of the prior of each of these but first
FIRST_PULL = 0.3  # that of a first try, which says least of all from one player to the next
# That of being warmed up: a day begins with what is in trouble, which looks the same.
WARMED_PULL = 40.0
EFFECT_PULL = 2.0  # precision of what sets a phrase or a key apart: they differ by some .7
PULLS = (*[PULL] * 4, FIRST_PULL, *[PULL] * 4, WARMED_PULL)
_FEWEST = 12
# Practice helps, time and tempo harm, whatever the first days look like. Slow goes are for keys in
# trouble, so that tempo seems to matter less than it does: a fit alone would slow down without end.
_LEAST = (0.1, 0.05, 0.8)


class Seen(NamedTuple):
    """A card's first go on one practice day (``date.toordinal()``), at ``tempo``; ``reached``
    is how far it had climbed before."""

    card_id: int
    day: int
    recall: Recall
    tempo: int
    reached: int

    @property
    def clean(self) -> bool:
        """Return whether it was clean or better."""
        return self.recall >= Recall.CLEAN


class Row(NamedTuple):
    """A cold go, and what stood behind it: practice in clean goes, days since the card and
    since any key of its phrase were played, whether the day before that was clean, and the
    natural logarithm of tempo reached over tempo played; ``days`` is 0 for a first try, and
    ``ahead`` how far its phrase's other keys are then, as the logarithm of a ratio of tempos.
    ``warmed`` tells whether another key of its phrase had been played that day."""

    phrase_id: int
    key: str
    practice: float
    days: int
    apart: int
    kept: bool
    room: float
    ahead: float
    warmed: bool
    clean: bool


@dataclass(frozen=True, slots=True, eq=False)
class Learned:
    """What the latest cold goes say; two are the same only if they are one object.

    The odds of a clean go are e^(base + phrase + key) · (1 + n)^growth · days^-fading ·
    apart^-together · (reached / tempo)^(10 steep), n being the card's days that began clean
    plus a share of the others (``practised``) and apart the days since any key of the phrase
    was played; times e^kept where the latest day began clean, and e^newest, as the newest goes
    tell how things are going just now, and e^warmed where another key of the phrase was played
    earlier that day. A first try has e^first in the place of practice and days, and (what its
    phrase's other keys reached / its own first tempo)^(10 lent). For a ``lenient`` player clean
    is what they call fluent.
    """

    base: float = PRIOR[0]
    growth: float = PRIOR[1]
    fading: float = PRIOR[2]
    together: float = PRIOR[3]
    first: float = PRIOR[4]
    kept: float = PRIOR[5]
    steep: float = PRIOR[6]
    lent: float = PRIOR[7]
    newest: float = PRIOR[8]
    warmed: float = PRIOR[9]
    phrases: Mapping[int, float] = field(default_factory=dict)
    keys: Mapping[str, float] = field(default_factory=dict)
    lenient: bool = False

    def odds(self, card: Candidate, today: int, apart: int, ahead: float = 0.0) -> float:
        """Return the log-odds that a cold go today at the tempo reached comes out clean, before
        any key of the phrase is played today."""
        odds = self.base + self.newest
        odds += self.phrases.get(card.phrase_id, 0.0) + self.keys.get(card.key, 0.0)
        odds -= self.together * _log_apart(apart)
        if not card.last_day:
            return odds + self.first + 10 * self.lent * ahead
        odds += self.gained(card.clean, card.missed) + (self.kept if card.run else 0.0)
        return odds - self.fading * log(max(1, today - card.last_day))

    @property
    def unfound(self) -> float:
        """Return the log-odds that first tries lack against what was assumed of them.

        What isn't found in a key yet isn't found at a slower tempo either.
        """
        return max(0.0, PRIOR[4] - self.first)

    def gained(self, clean: int, missed: int) -> float:
        """Return what days of practice have added to the log-odds: see ``practised``."""
        return self.growth * log(1 + practised(clean, missed))

    def at(self, odds: float, reached: int, tempo: int) -> float:
        """Return the chance at a tempo, given the log-odds at the tempo reached."""
        return chance_of(odds + 10 * self.steep * log(reached / tempo))

    def tempo_for(self, odds: float, reached: int, chance: float) -> float:
        """Return the tempo at which a cold go has that chance, in quarter notes a minute."""
        return reached * exp((odds - log(chance / (1 - chance))) / (10 * self.steep))


def chance_of(odds: float) -> float:
    """Return the chance that log-odds stand for."""
    return 1 / (1 + exp(-max(-40.0, odds)))


def _log_apart(apart: int) -> float:
    return log(min(APART, max(1, apart)))


def practised(clean: int, missed: int) -> float:
    """Return what days that began clean and days that didn't come to, in clean ones.

    A miss teaches a little, but a key that is missed day after day gets no surer by it.
    """
    few, each = MOST_MISSED
    return clean + MISSED_SHARE * min(missed, few + each * clean)


UNLEARNT = Learned()
_Value = TypeVar("_Value", int, str)


def learn(
    seen: Sequence[Seen],
    cards: Iterable[Candidate],
    misses: Misses = NO_MISSES,
    earlier: Sequence[Seen] = (),
) -> Learned:
    """Return what the cold goes say, oldest first; all but the latest ``LATEST`` are left out.

    ``cards`` are the cards as they stand after all of these goes; goes at others are left out.
    ``misses`` tell how the player rates. ``earlier`` are cards' very first goes from before
    ``seen``, without which what is said of new keys would be a guess again. Logistic regression
    with Normal priors: around ``PRIOR``, and around 0 for what sets a phrase or a key apart.
    """
    seen, cards = seen[-LATEST:], list(cards)
    lenient = is_lenient([each.recall for each in seen], misses)
    rows = [
        *_ever_first(earlier[-EVER_FIRST:], cards, lenient=lenient),
        *attempted(seen, cards, lenient=lenient),
    ]
    return fitted(rows, lenient=lenient)


def fitted(rows: Sequence[Row], *, lenient: bool = False) -> Learned:
    """Return what cold goes and what stood behind them say."""
    if len(rows) < _FEWEST:
        return UNLEARNT
    phrases = _numbered(row.phrase_id for row in rows)
    keys = _numbered(row.key for row in rows)
    newest_from = len(rows) - NEWEST
    trials = [
        Trial(
            phrases[row.phrase_id],
            _columns(row, keys[row.key], newest=place >= newest_from),
            row.clean,
        )
        for place, row in enumerate(rows)
    ]
    prior = Prior(
        (*PRIOR, *(0.0 for _ in keys)),
        (*PULLS, *(EFFECT_PULL for _ in keys)),
        EFFECT_PULL,
    )
    effects, weights = find_mode(trials, len(phrases), prior)
    base, growth, fading, together, first, kept, steep, lent, newest, warmed = weights[: len(PRIOR)]
    return Learned(
        base,
        max(_LEAST[0], growth),
        max(_LEAST[1], fading),
        together,
        first,
        kept,
        max(_LEAST[2], steep),
        max(0.0, lent),
        newest,
        warmed,
        dict(zip(phrases, effects, strict=True)),
        dict(zip(keys, weights[len(PRIOR) :], strict=True)),
        lenient,
    )


def _numbered(values: Iterable[_Value]) -> dict[_Value, int]:
    """Return the different values, each with its number from 0."""
    return {value: number for number, value in enumerate(dict.fromkeys(values))}


def _columns(row: Row, key: int, *, newest: bool) -> tuple[tuple[int, float], ...]:
    """Return what each of the weights of ``PRIOR`` is multiplied by, and the key's own."""
    if row.days:
        past = log(1 + row.practice), -log(row.days)
        values: tuple[float, ...] = (1.0, *past, -_log_apart(row.apart), 0.0, row.kept)
    else:
        values = 1.0, 0.0, 0.0, -_log_apart(row.apart), 1.0, row.kept
    ahead = 0.0 if row.days else 10 * row.ahead
    values = *values, 10 * row.room, ahead, newest, row.warmed
    shown = tuple([(column, float(value)) for column, value in enumerate(values) if value])
    return (*shown, (len(PRIOR) + key, 1.0))


def _ever_first(
    tries: Sequence[Seen], cards: Iterable[Candidate], *, lenient: bool = False
) -> list[Row]:
    """Return cards' very first goes as rows; how far the phrase was then isn't known, and that
    another key of it came before that day, as most often, is taken for granted."""
    least = _least_clean(lenient=lenient)
    of_card = {card.card_id: card for card in cards}
    return [
        Row(card.phrase_id, card.key, 0.0, 0, 1, False, log(each.reached / each.tempo), 0.0,
            True, each.recall >= least)
        for each in tries
        if (card := of_card.get(each.card_id))
    ]  # fmt: skip


def _least_clean(*, lenient: bool) -> Recall:
    return Recall.FLUENT if lenient else Recall.CLEAN


def attempted(
    seen: Sequence[Seen], cards: Iterable[Candidate], *, lenient: bool = False
) -> list[Row]:
    """Return what stood behind each cold go, oldest first.

    A card's counts now less those of these goes are its counts before them. Left out is the
    first go of each card that was played before all of them, as nobody knows when. Of a
    ``lenient`` player's goes only the fluent ones are taken as clean.
    """
    least = _least_clean(lenient=lenient)
    of_card = {card.card_id: card for card in cards}
    known = [each for each in seen if each.card_id in of_card]
    past = {
        each.card_id: _Past(of_card[each.card_id].clean, of_card[each.card_id].missed)
        for each in known
    }
    for each in known:
        past[each.card_id].count(-1, clean=each.clean)
    phrases: dict[int, _PhrasePast] = {}
    rows = []
    for each in known:
        card, before = of_card[each.card_id], past[each.card_id]
        phrase = phrases.setdefault(card.phrase_id, _PhrasePast())
        warmed, apart = phrase.day == each.day, phrase.apart(each.day)
        if before.last_day or before.days <= 0:
            ahead = 0.0 if before.last_day else phrase.ahead(each)
            room = log(each.reached / each.tempo)
            behind = before.practice, before.since(each.day), apart, before.kept, room, ahead
            rows.append(Row(card.phrase_id, card.key, *behind, warmed, each.recall >= least))
        phrase.reached[each.card_id] = log(each.reached)
        before.count(1, clean=each.clean)
        before.last_day, before.kept = each.day, each.clean
    return rows


@dataclass(slots=True)
class _Past:
    """What is known of a card while its goes are walked through; days from 1."""

    clean: int
    missed: int
    last_day: int = 0
    kept: bool = False

    @property
    def days(self) -> int:
        return self.clean + self.missed

    @property
    def practice(self) -> float:
        return practised(max(0, self.clean), max(0, self.missed))

    def since(self, day: int) -> int:
        return max(1, day - self.last_day) if self.last_day else 0

    def count(self, by: int, *, clean: bool) -> None:
        if clean:
            self.clean += by
        else:
            self.missed += by


@dataclass(slots=True)
class _PhrasePast:
    """A phrase's latest two days, and the logarithms of the tempos that its keys reached."""

    day: int = -APART
    day_before: int = -APART
    reached: dict[int, float] = field(default_factory=dict)

    def apart(self, day: int) -> int:
        """Return the days since an earlier day on which a key of it was played."""
        if day > self.day:
            self.day, self.day_before = day, self.day
        return day - self.day_before

    def ahead(self, go: Seen) -> float:
        """Return how far its keys are ahead of a card, on average."""
        if not self.reached:
            return 0.0
        return sum(self.reached.values()) / len(self.reached) - log(go.reached)
