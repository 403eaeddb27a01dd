"""Which keys may be opened next, and how likely their first try is to succeed."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from math import exp, log

from drillbox.memory.candidates import Candidate
from drillbox.memory.recall import chance, curve
from drillbox.memory.rules import Rules

LATEST = 2  # so many of a phrase's latest opened keys must hold before the next one opens

# The first try in a new key, as a logistic guess. The weights are assumed, not measured: a
# phrase never played is a toss-up that leans to a miss; keys that are remembered now raise
# the odds up to fivefold, keys that are not lower them as much; each doubling of the open
# keys raises them by a fifth. They order and show; no memory state depends on them.
BASE, SIBLINGS, EXPERIENCE = -0.4, 3.2, 0.26


def first_try(remembered: Iterable[float]) -> float:
    """Return the chance, 0 to 1, that the first try in a new key succeeds.

    ``remembered`` holds the present retrievability of the phrase's open keys.
    """
    values = list(remembered)
    if not values:
        return 1 / (1 + exp(-BASE))
    share = sum(values) / len(values)
    return 1 / (1 + exp(-(BASE + SIBLINGS * (share - 0.5) + EXPERIENCE * log(1 + len(values)))))


def openable(candidates: Collection[Candidate], day: int, rules: Rules) -> list[Candidate]:
    """Return the cards that may be opened now, in the order in which they should be.

    Those are the keys of each phrase whose latest opened ones hold: ``hold_days`` stable
    (with 0 always; the study of simulated players loses by asking for more). Phrases that
    were never played come first, in the order they were added; then those with the best
    chance at the first try. The keys of a phrase come in its order. ``day`` is a
    ``date.toordinal()``.
    """
    unopened: dict[int, list[Candidate]] = {}
    for each in candidates:
        if not each.last_day:
            unopened.setdefault(each.phrase_id, []).append(each)
    opened: dict[int, list[Candidate]] = {phrase_id: [] for phrase_id in unopened}
    for each in candidates if unopened else ():
        if each.last_day and each.phrase_id in opened:
            opened[each.phrase_id].append(each)
    decay, factor = curve(rules.weights)
    ranked = []
    for phrase_id, cards in unopened.items():
        siblings = opened[phrase_id]
        latest = sorted(siblings, key=lambda each: each.position)[-LATEST:]
        if all(each.stability >= rules.hold_days for each in latest):
            now = [chance(each.stability, day - each.last_day, decay, factor) for each in siblings]
            place = bool(siblings), -first_try(now), phrase_id
            ranked += [(*place, card.position, card) for card in cards]
    return [card for *_, card in sorted(ranked)]
