"""What to drill next: pure choosing among cards, the same for the same values."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date
from typing import NamedTuple

from drillbox.memory.candidates import Candidate, Done, Sitting, returning
from drillbox.memory.learning import Learned
from drillbox.memory.mixing import mixed
from drillbox.memory.opening import openable
from drillbox.memory.pace import Pace, expected_seconds
from drillbox.memory.rules import Rules
from drillbox.memory.worth import worth_today


class _Now(NamedTuple):
    """All that a choice depends on besides the cards."""

    sitting: Sitting
    today: int
    rules: Rules
    pace: Pace
    learned: Learned | None

    def seconds(self, card: Candidate) -> float:
        return expected_seconds(card.quarters, card.tempo, self.pace, self.rules)

    @property
    def last(self) -> Done | None:
        return self.sitting.done[-1] if self.sitting.done else None


def next_card(
    candidates: Sequence[Candidate],
    sitting: Sitting,
    day: date,
    rules: Rules,
    pace: Pace,
    learned: Learned | None = None,
) -> int | None:
    """Return the id of the card to drill now, or None when the sitting is over.

    ``candidates`` are the cards of all phrases in practice as they stand now: all open ones,
    and at least the next one of each phrase that isn't open yet. Lost cards come back first.
    With what is ``learned`` from the player's attempts, new keys follow while nearly all is
    recalled lately, then whatever brings most recall for its time, new keys among it; without
    it cards due, new keys, then what has faded most. Not the same phrase twice running, nor
    neighbours in the key order, where there is a choice. The session ends when less than half
    of the time that the next card needs is left.
    """
    now = _Now(sitting, day.toordinal(), rules, pace, learned)
    newest = _newest(candidates, now)
    if newest and sitting.left < 1.5 * now.seconds(newest):
        chosen: Candidate | None = newest
    else:
        chosen = _apart(_groups(candidates, now), now) or newest
    if chosen is None or sitting.left * 2 < now.seconds(chosen):
        return None
    return chosen.card_id


def _groups(candidates: Sequence[Candidate], now: _Now) -> Iterator[list[Candidate]]:
    """Yield the cards that may come now, group by group, the most pressing first."""
    rules, sitting = now.rules, now.sitting
    waiting = returning(sitting.done, rules.returns_a_day, rules.returns_a_session)
    gone = {each.card_id for each in sitting.done} | sitting.skipped
    back: list[Candidate] = []
    ready: list[Candidate] = []
    for card in candidates:
        if card.card_id in gone:
            if card.card_id in waiting and card.card_id not in sitting.skipped:
                back.append(card)
        elif 0 < card.last_day < now.today:
            ready.append(card)
    back.sort(key=lambda card: -waiting[card.card_id])
    yield from ([card] for card in back if waiting[card.card_id] >= rules.return_gap)
    yield from (
        _by_worth(candidates, ready, gone, now)
        if now.learned
        else _by_due_day(candidates, ready, gone, now)
    )
    yield from ([card] for card in back if waiting[card.card_id] < rules.return_gap)


def _by_worth(
    candidates: Sequence[Candidate], ready: list[Candidate], gone: set[int], now: _Now
) -> Iterator[list[Candidate]]:
    """Yield new keys first while nearly all is recalled, then all that may come."""
    assert now.learned
    since = now.today - now.rules.backlog_days
    used = now.sitting.minutes * 60 - now.sitting.left
    overdue = [card for card in ready if card.due <= since]
    left = max(0.0, now.rules.minutes * 60 - used)
    fresh = _fresh(candidates, overdue, gone, now, left)
    if now.learned.lately >= now.rules.sure and now.sitting.opened < now.rules.new_when_sure:
        yield from ([card] for card in fresh)
    yield fresh + ready


def _by_due_day(
    candidates: Sequence[Candidate], ready: list[Candidate], gone: set[int], now: _Now
) -> Iterator[list[Candidate]]:
    """Yield cards due, then new keys, then the open cards that aren't due, one by one."""
    faded = sorted(
        ready,
        key=lambda card: ((card.last_day - now.today) / card.stability,
                          mixed(now.today, card.card_id)),
    )  # fmt: skip
    due = [card for card in faded if card.due <= now.today]
    yield from ([card] for card in due)
    fresh = _fresh(candidates, due, gone, now, now.rules.minutes * 60)
    yield from ([card] for card in fresh)
    yield from ([card] for card in faded if card.due > now.today)


def _fresh(
    candidates: Sequence[Candidate],
    backlog: Sequence[Candidate],
    gone: set[int],
    now: _Now,
    seconds: float,
) -> list[Candidate]:
    """Return the keys that may be opened now: none once enough were, or under a backlog.

    That is one which takes more than ``seconds``.
    """
    if now.sitting.opened >= now.rules.new_a_day or sum(map(now.seconds, backlog)) > seconds:
        return []
    found = openable(candidates, now.today, now.rules)
    return [card for card in found if card.card_id not in gone]


def _apart(groups: Iterator[list[Candidate]], now: _Now) -> Candidate | None:
    """Return the best card of the first group that has one of another phrase than the last.

    Failing that, the best of those that are least near to the last one.
    """
    last = now.last
    near: list[Candidate] = []
    for group in groups:
        others = [card for card in group if last is None or card.phrase_id != last.phrase_id]
        if others:
            return _worthiest(others, now)
        near += group
    if not near or last is None:
        return None
    nearness = {card: (card.card_id == last.card_id, neighbours(card.position, last.position))
                for card in near}  # fmt: skip
    least = min(nearness.values())
    return _worthiest([card for card in near if nearness[card] == least], now)


def _worthiest(cards: Sequence[Candidate], now: _Now) -> Candidate:
    """Return the card of most worth; each one done of its phrase today halves a card's worth.

    Of equal ones a new key comes first, in the order given; the rest are mixed by a hash of
    card and day, so that they don't come in the order in which they were added. Without what
    is learned it is the first.
    """
    if len(cards) == 1 or not now.learned:
        return cards[0]
    worth = worth_today(now.learned, now.today, now.rules, now.pace)
    pairs = {(each.card_id, each.phrase_id) for each in now.sitting.done}
    times = Counter(phrase for _, phrase in pairs)
    share = {phrase: now.rules.phrase_share**count for phrase, count in times.items()}
    best, most, tie = cards[0], -1.0, 0
    for card in cards:
        value = worth.of(card) * share.get(card.phrase_id, 1.0)
        if value >= most:
            order = mixed(now.today, card.card_id) if card.last_day else -1
            if value > most or order < tie:
                best, most, tie = card, value, order
    return best


def neighbours(one: int, other: int) -> bool:
    """Return whether two places in an order of twelve keys are next to each other."""
    return (one - other) % 12 in {1, 11}


def _newest(candidates: Sequence[Candidate], now: _Now) -> Candidate | None:
    """Return the card opened latest in this sitting, where it is to be played once more."""
    done = now.sitting.done
    first = next((each for each in reversed(done) if each.first), None)
    if not now.rules.newest_at_end or first is None or done[-1].card_id == first.card_id:
        return None
    times = sum(each.card_id == first.card_id for each in done)
    if first.card_id in now.sitting.skipped or times > 1:
        return None
    return next((card for card in candidates if card.card_id == first.card_id), None)
