"""What to drill next, at what tempo and for how many goes: pure, the same for the same values."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cached_property
from math import inf
from typing import NamedTuple

from drillbox.memory.candidates import (
    Candidate,
    Done,
    Pace,
    Sitting,
    expected_seconds,
    goes_on,
    visits,
)
from drillbox.memory.cards import moved_tempo
from drillbox.memory.chances import Chances
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules, TempoRules

TRIES = 3  # visits to a key that has never come out clean on its first day, one less each day on
HELD_UP = 3  # days that such a key keeps its phrase from the next, where another came out clean
VISITS = 2  # visits a sitting to a key on its way to the goal, before other keys come
LEAD = 2  # so many more days that began clean than didn't, and one visit is enough
CLIMBING = 8  # with fewer keys on their way to the goal a phrase not begun may start
BY_AGE = 5  # with so many begun, a sitting's first new key starts a phrase that waits for long
APART = 2  # visits to others before such a key comes back
EACH, FORGOTTEN = 10, 7  # each tenth visit is to what was left alone for a week on its way

Group = list[Candidate]


class Go(NamedTuple):
    """The next go: which card, and at what tempo."""

    card_id: int
    tempo: int


class _Now:
    """Everything a choice depends on besides the cards."""

    def __init__(self, sitting: Sitting, rules: Rules, pace: Pace, chances: Chances) -> None:
        self.sitting, self.rules, self.pace, self.chances = sitting, rules, pace, chances
        self.visits = visits(sitting.done, rules.goes)

    @cached_property
    def count(self) -> Counter[int]:
        return Counter(goes[0].card_id for goes in self.visits)

    @cached_property
    def latest(self) -> dict[int, int]:
        return {goes[0].card_id: place for place, goes in enumerate(self.visits)}

    @cached_property
    def came_clean(self) -> set[int]:
        return {each.card_id for each in self.sitting.done if each.clean}

    @cached_property
    def most(self) -> float:
        """Return the seconds that the next go may take; the first of a sitting may take any."""
        return self.sitting.left * 2 if self.sitting.used else inf

    @property
    def last(self) -> list[Done]:
        return self.visits[-1] if self.visits else []

    def seconds(self, card: Candidate, tempo: int) -> float:
        return expected_seconds(card.quarters, tempo, self.pace, self.rules)

    @cached_property
    def warmed(self) -> set[int]:
        return self.chances.warmed_up(self.sitting)

    @cached_property
    def latest_go(self) -> dict[int, Done]:
        return {each.card_id: each for each in self.sitting.done}

    def tempo(self, card: Candidate) -> int:
        """Return the tempo of a card's next go."""
        if card.last_day != self.chances.today:
            return self.chances.cold(card, warmed=card.phrase_id in self.warmed)
        last = self.latest_go.get(card.card_id)
        if last is None:
            return card.tempo
        return once_more(card.tempo, last.tempo, last.recall, card.goal, self.rules.tempo)

    def fits(self, card: Candidate) -> bool:
        """Return whether there is time enough to begin a card's next go."""
        return self.most >= self.seconds(card, self.tempo(card))

    def since(self, card: Candidate) -> int:
        """Return the visits to others since the latest one to a card of this sitting."""
        return len(self.visits) - 1 - self.latest[card.card_id]

    def learnt(self, card: Candidate) -> bool:
        """Return whether a card has come out clean in this sitting, or as the first go of a day."""
        return card.clean > 0 or card.card_id in self.came_clean


def once_more(own: int, played: int, recall: Recall, goal: int, rules: TempoRules) -> int:
    """Return the tempo of a later go at a card in a sitting, ``own`` being how far it has climbed.

    After a miss it is no faster than what was missed, and a rung slower than what was lost.
    """
    if recall >= Recall.CLEAN:
        return own
    return min(own, moved_tempo(played, -1 if recall is Recall.LOST else 0, goal, rules))


def next_go(
    candidates: Sequence[Candidate], sitting: Sitting, rules: Rules, pace: Pace, chances: Chances
) -> Go | None:
    """Return the go to play now, or None when the sitting is over.

    ``candidates`` are the cards of all phrases in practice as they stand now, ``chances`` those
    of the day. The visit under way goes on until a go comes out clean; else the next one begins:
    a new key that hasn't come out clean yet, now and then what was left alone for long below its
    goal, then what didn't stay, then whatever raises the chance of clean goes at goal tempo most
    for its time, then the rest. No visit is to the phrase of the visit before, and none is the
    third running in a key, where there is a choice. A go is begun while half of the time that it
    needs is left; the sitting ends when there is none such, though what comes first in it may take
    any time.
    """
    now = _Now(sitting, rules, pace, chances)
    card = _under_way(candidates, now)
    if card is None or not now.fits(card):
        card = _next_visit(candidates, now)
    return Go(card.card_id, now.tempo(card)) if card is not None else None


def _under_way(candidates: Sequence[Candidate], now: _Now) -> Candidate | None:
    """Return the card of the latest visit where that goes on."""
    visit = now.last
    if not visit or not goes_on(visit, now.rules.goes) or visit[0].card_id in now.sitting.skipped:
        return None
    return next((card for card in candidates if card.card_id == visit[0].card_id), None)


def _next_visit(candidates: Sequence[Candidate], now: _Now) -> Candidate | None:
    """Return the card to visit next, None where none is left whose go fits."""
    again = _newest_again(candidates, now)
    if again and _mixes(again, now) and now.fits(again):
        return again
    near: Group = []
    for card in _by_press(candidates, now):
        if not now.fits(card):
            continue
        if _mixes(card, now):
            return card
        near.append(card)
    # Mixing gives way only where nothing else is left: a third time in a key before the same
    # phrase twice, another key of it before the same one.
    if now.last and near:
        last = now.last[0]
        near = (
            [card for card in near if card.phrase_id != last.phrase_id]
            or [card for card in near if card.card_id != last.card_id]
            or near
        )
    return next(iter(near), None)


def _mixes(card: Candidate, now: _Now) -> bool:
    """Return whether a card is of another phrase than the last visit, and not the third
    running in its key."""
    if not now.last:
        return True
    if now.last[0].phrase_id == card.phrase_id:
        return False
    return [goes[0].key for goes in now.visits[-2:]] != [card.key, card.key]


def _by_press(candidates: Sequence[Candidate], now: _Now) -> Iterator[Candidate]:
    """Yield the cards that may come now, the most pressing first."""
    chances, today, skipped = now.chances, now.chances.today, now.sitting.skipped
    begun = [card for card in candidates if card.last_day and card.card_id not in skipped]
    warm = [card for card in begun if card.last_day == today]
    yield from [card for card in warm if _comes_back(card, now)]
    if len(now.visits) % EACH == EACH - 1:
        yield from _left_alone(begun, today)
    yield from _not_held(begun, today)
    nexts = _next_keys(candidates, now)
    starting = _phrases_to_start(candidates, nexts, now)
    if sum(not card.at_goal for card in begun) < CLIMBING:
        yield from starting
    by_age = [] if len(begun) % BY_AGE else starting[:1]
    climbing = [card for card in warm if not card.at_goal]
    yield from _least_visited([card for card in climbing if _climbs_on(card, now)], now)
    coming = {card.card_id for card in nexts}
    kept: Group = []
    never_stay: Group = []
    for card in chances.by_rate(candidates):
        if not card.last_day:
            if card.card_id in coming:
                yield from by_age
                yield card
        elif card.last_day != today and card.card_id not in skipped:
            if card.never_stays:
                never_stay.append(card)
            elif not card.at_goal or chances.wants_keeping(card):
                yield card
            else:
                kept.append(card)
    yield from kept
    yield from never_stay
    yield from _least_visited(climbing, now)
    yield from _least_visited(warm, now)


def _comes_back(card: Candidate, now: _Now) -> bool:
    """Return whether a key that has never come out clean is to be tried once more by now."""
    if now.learnt(card):
        return False
    days_before = max(0, card.missed - 1)
    return 0 < now.count[card.card_id] < TRIES - days_before and now.since(card) >= APART


def _climbs_on(card: Candidate, now: _Now) -> bool:
    """Return whether a key on its way to the goal has a visit left before other keys come.

    A key that mostly comes out clean has one; the time does more for others.
    """
    visits = VISITS if card.clean < card.missed + LEAD else 1
    return now.learnt(card) and now.count[card.card_id] < visits


def _not_held(begun: Group, today: int) -> Group:
    """Return the keys that were missed last, and those due on their way to the goal, the latest
    first.

    Where there are more of them than a day holds, the same few come day after day until they
    stay; taking turns, none would come often enough for the player to keep it. One that was
    missed again and again all the same waits its turn.
    """
    unsure = [
        card
        for card in begun
        if card.last_day != today
        and not card.never_stays
        and (not card.run or (card.due <= today and not card.at_goal))
    ]
    return sorted(unsure, key=lambda card: (-card.last_day, -card.tempo / card.goal))


def _left_alone(begun: Group, today: int) -> Group:
    """Return the keys below their goal that weren't played for long, the longest before all.

    What never stays, and what is far from its goal and sure, brings least for its time: by worth
    alone it would never be played again where there is always something better.
    """
    far = [card for card in begun if not card.at_goal and card.last_day <= today - FORGOTTEN]
    return sorted(far, key=lambda card: card.last_day)


def _least_visited(cards: Group, now: _Now) -> Group:
    """Return cards, those first that were visited least today, then those not owned yet, then
    those nearest their goal."""
    return sorted(
        cards, key=lambda card: (now.count[card.card_id], card.owned, -card.tempo / card.goal)
    )


def _next_keys(candidates: Sequence[Candidate], now: _Now) -> Group:
    """Return the next key of each phrase whose latest begun one has come out clean, or hasn't
    for ``HELD_UP`` days though an earlier one has.

    ``candidates`` come in the order of a phrase's keys.
    """
    latest = {card.phrase_id: card for card in candidates if card.last_day}
    coming = {card.phrase_id: card for card in reversed(candidates) if not card.last_day}
    come_out = {card.phrase_id for card in candidates if card.last_day and now.learnt(card)}
    return [
        card
        for phrase, card in coming.items()
        if card.card_id not in now.sitting.skipped
        and (
            phrase not in latest
            or now.learnt(latest[phrase])
            or (latest[phrase].missed >= HELD_UP and phrase in come_out)
        )
    ]


def _phrases_to_start(candidates: Sequence[Candidate], nexts: Group, now: _Now) -> Group:
    """Return the first keys of phrases of which none has begun, the oldest first; none once a key
    has begun in this sitting."""
    if any(each.first for each in now.sitting.done):
        return []
    started = {card.phrase_id for card in candidates if card.last_day}
    return [card for card in reversed(nexts) if card.phrase_id not in started]


def _newest_again(candidates: Sequence[Candidate], now: _Now) -> Candidate | None:
    """Return the key that is played once more at the sitting's end, where one should be.

    That is the newest of those begun in this sitting that wasn't the last to be played, if it
    was visited once only.
    """
    if not now.rules.repeat_newest:
        return None
    last = now.last[0].card_id if now.last else None
    for each in reversed(now.sitting.done):
        if each.first and each.card_id != last:
            if now.count[each.card_id] > 1 or each.card_id in now.sitting.skipped:
                return None
            card = next((card for card in candidates if card.card_id == each.card_id), None)
            close = card and now.sitting.left < 1.5 * now.seconds(card, card.tempo)
            return card if close else None
    return None
