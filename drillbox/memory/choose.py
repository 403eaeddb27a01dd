"""What to drill next: pure choosing among cards, the same for the same values."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from drillbox.memory.candidates import Candidate, Done, Sitting, returning
from drillbox.memory.mixing import mixed
from drillbox.memory.opening import openable
from drillbox.memory.pace import Pace, expected_seconds
from drillbox.memory.rules import Rules


def next_card(
    candidates: Sequence[Candidate], sitting: Sitting, day: date, rules: Rules, pace: Pace
) -> int | None:
    """Return the id of the card to drill now, or None when the sitting is over.

    ``candidates`` are the cards of all phrases in practice as they stand now: all open ones,
    and at least the next one of each phrase that isn't open yet. In order: lost cards that
    come back, cards due, new keys, and with time still left the open cards that have faded
    most. Not the same phrase twice running, nor neighbours in the key order, where there is a
    choice. The session ends when less than half of the time that the next card needs is left.
    """
    newest = _newest(candidates, sitting, rules)
    if newest and sitting.left < 1.5 * _seconds(newest, pace, rules):
        chosen: Candidate | None = newest
    else:
        groups = _groups(candidates, sitting, day.toordinal(), rules, pace)
        chosen = _apart(groups, sitting.done[-1] if sitting.done else None) or newest
    if chosen is None or sitting.left * 2 < _seconds(chosen, pace, rules):
        return None
    return chosen.card_id


def _groups(
    candidates: Sequence[Candidate], sitting: Sitting, today: int, rules: Rules, pace: Pace
) -> Iterator[list[Candidate]]:
    """Yield the cards that may come now, group by group and card by card, most pressing first."""
    waiting = returning(sitting.done, rules.returns_a_day)
    gone = {each.card_id for each in sitting.done} | sitting.skipped
    back: list[Candidate] = []
    due: list[Candidate] = []
    ahead: list[Candidate] = []
    for card in candidates:
        if card.card_id in gone:
            if card.card_id in waiting and card.card_id not in sitting.skipped:
                back.append(card)
        elif card.last_day and card.due <= today:
            due.append(card)
        elif 0 < card.last_day < today:
            ahead.append(card)
    back.sort(key=lambda card: -waiting[card.card_id])
    yield [card for card in back if waiting[card.card_id] >= rules.return_gap]
    yield _faded(due, today)
    if sitting.opened < rules.new_a_day and _fits(due, rules.minutes * 60, rules, pace):
        yield [card for card in openable(candidates, today, rules) if card.card_id not in gone]
    yield _faded(ahead, today)
    yield [card for card in back if waiting[card.card_id] < rules.return_gap]


def _faded(cards: list[Candidate], today: int) -> list[Candidate]:
    """Sort cards by retrievability, lowest first; it falls with elapsed time over stability.

    Equal ones are mixed by a hash of card and day, so that they don't come in the order in
    which they were added.
    """
    return sorted(
        cards,
        key=lambda card: (
            (card.last_day - today) / card.stability,
            mixed(today, card.card_id),
        ),
    )


def _apart(groups: Iterator[list[Candidate]], last: Done | None) -> Candidate | None:
    """Return the first card of another phrase than the last; failing that, the least near."""
    near: list[Candidate] = []
    for group in groups:
        for card in group:
            if last is None or card.phrase_id != last.phrase_id:
                return card
        near += group
    if last is None:
        return None
    return min(
        near,
        key=lambda card: (card.card_id == last.card_id, neighbours(card.position, last.position)),
        default=None,
    )


def neighbours(one: int, other: int) -> bool:
    """Return whether two places in an order of twelve keys are next to each other."""
    return (one - other) % 12 in {1, 11}


def _newest(candidates: Sequence[Candidate], sitting: Sitting, rules: Rules) -> Candidate | None:
    """Return the card opened latest in this sitting, where it is to be played once more."""
    first = next((each for each in reversed(sitting.done) if each.first), None)
    if not rules.newest_at_end or first is None or sitting.done[-1].card_id == first.card_id:
        return None
    if first.card_id in sitting.skipped or _times(sitting, first.card_id) > 1:
        return None
    return next((card for card in candidates if card.card_id == first.card_id), None)


def _times(sitting: Sitting, card_id: int) -> int:
    return sum(each.card_id == card_id for each in sitting.done)


def _fits(cards: Sequence[Candidate], seconds: float, rules: Rules, pace: Pace) -> bool:
    """Return whether the cards can be played in that many seconds."""
    for card in cards:
        seconds -= _seconds(card, pace, rules)
        if seconds < 0:
            return False
    return True


def _seconds(card: Candidate, pace: Pace, rules: Rules) -> float:
    return expected_seconds(card.quarters, card.tempo, pace, rules)
