"""What to drill next: pure choosing among cards, the same for the same values."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple

from drillbox.memory.candidates import Candidate, Done, Sitting, returning
from drillbox.memory.learning import APART, UNLEARNT, Learned
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
    learned: Learned

    def seconds(self, card: Candidate) -> float:
        return expected_seconds(card.quarters, card.tempo, self.pace, self.rules)

    @property
    def last(self) -> Done | None:
        return self.sitting.done[-1] if self.sitting.done else None


# What a card that may come now is worth, and the card.
_Scored = tuple[float, Candidate]


def next_card(
    candidates: Sequence[Candidate],
    sitting: Sitting,
    day: date,
    rules: Rules,
    pace: Pace,
    learned: Learned = UNLEARNT,
) -> int | None:
    """Return the id of the card to drill now, or None when the sitting is over.

    ``candidates`` are the cards of all phrases in practice as they stand now: all open ones,
    and at least the next one of each phrase that isn't open yet. Lost cards come back first;
    then comes whatever brings most recall for its time by what is ``learned`` from the
    player's attempts, new keys among it. Not the same phrase twice running, nor neighbours
    in the key order, where there is a choice. The session ends when less than half of the
    time that the next card needs is left, or when nothing is due and all is surely remembered.
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


def _groups(candidates: Sequence[Candidate], now: _Now) -> Iterator[list[_Scored]]:
    """Yield the cards that may come now, group by group, the most pressing first."""
    rules, sitting = now.rules, now.sitting
    waiting = returning(sitting.done, rules.returns_a_day, rules.returns_a_session)
    back: list[Candidate] = []
    if waiting:
        wanted = waiting.keys() - sitting.skipped
        back = [card for card in candidates if card.card_id in wanted]
        back.sort(key=lambda card: -waiting[card.card_id])
    ripe = sum(waiting[card.card_id] >= rules.return_gap for card in back)
    yield from ([(1.0, card)] for card in back[:ripe])
    yield _by_worth(candidates, now)
    yield from ([(1.0, card)] for card in back[ripe:])


def _by_worth(candidates: Sequence[Candidate], now: _Now) -> list[_Scored]:
    """Return new keys and the open cards not played today, those that are worth an attempt.

    Each other key of its phrase that was played in this sitting makes a card worth less.
    """
    done, today = now.sitting.done, now.today
    gone = {each.card_id for each in done} | now.sitting.skipped
    times = Counter(phrase for _, phrase in {(each.card_id, each.phrase_id) for each in done})
    share = {phrase: now.rules.phrase_share**count for phrase, count in times.items()}
    ready = [card for card in candidates
             if 0 < card.last_day < today and card.card_id not in gone]  # fmt: skip
    fresh = [card for card in _fresh(candidates, ready, now) if card.card_id not in gone]
    latest = _latest(candidates)
    worth = worth_today(now.learned, today, now.rules, now.pace).of
    found = []
    for card in fresh + ready:
        day, by, other = latest.get(card.phrase_id, _NEVER)
        value = worth(card, today - (other if by == card.card_id else day))
        if value:
            found.append((value * share.get(card.phrase_id, 1.0), card))
    return found


_NEVER = (-APART, 0, -APART)


def _latest(candidates: Iterable[Candidate]) -> dict[int, tuple[int, int, int]]:
    """Return of each phrase the latest day, the card played then, and the latest of the others."""
    latest: dict[int, tuple[int, int, int]] = {}
    for card in candidates:
        if not card.last_day:
            continue
        day, by, other = latest.get(card.phrase_id, _NEVER)
        if card.last_day > day:
            latest[card.phrase_id] = (card.last_day, card.card_id, day)
        elif card.last_day > other:
            latest[card.phrase_id] = (day, by, card.last_day)
    return latest


def _fresh(
    candidates: Sequence[Candidate], ready: Sequence[Candidate], now: _Now
) -> Sequence[Candidate]:
    """Return the keys that may be opened now: none once enough were, or under a backlog.

    That is what was last played before a break, while it takes more than is left of the day's
    minutes; it shuts new keys out for no longer than the break was.
    """
    back, rules, sitting = now.sitting.back, now.rules, now.sitting
    if sitting.opened >= rules.new_a_day:
        return []
    if back and now.today < back.day + back.away:
        backlog = sum(now.seconds(card) for card in ready if card.last_day < back.day)
        if backlog > max(0.0, rules.minutes * 60 - sitting.used):
            return []
    return openable(candidates, now.today, rules)


def _apart(groups: Iterator[list[_Scored]], now: _Now) -> Candidate | None:
    """Return the best card of the first group that has one of another phrase than the last.

    Failing that, the best of those that are least near to the last one; keys open along their
    order though.
    """
    last = now.last
    near: list[_Scored] = []
    for group in groups:
        others = group
        if last is not None:
            others = [each for each in group if each[1].phrase_id != last.phrase_id]
        if others:
            return _worthiest(others, now.today)
        near += group
    if not near or last is None:
        return None
    nearness = {
        card: (card.card_id == last.card_id,
               card.opened and neighbours(card.position, last.position))
        for _, card in near
    }  # fmt: skip
    least = min(nearness.values())
    return _worthiest([each for each in near if nearness[each[1]] == least], now.today)


def _worthiest(scored: Sequence[_Scored], today: int) -> Candidate:
    """Return the card of most worth.

    Of equal ones a new key comes first, in the order given; the rest are mixed by a hash of
    card and day, so that they don't come in the order in which they were added.
    """
    most = max(worth for worth, _ in scored)
    return min(
        (card for worth, card in scored if worth == most),
        key=lambda card: mixed(today, card.card_id) if card.last_day else -1,
    )


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
