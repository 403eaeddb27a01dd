"""Which of the parts of a recording the player's line is in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from drillbox.hearing.expected import Expected
from drillbox.hearing.features import Pass
from drillbox.hearing.judging import WORDS, by_worst_time
from drillbox.hearing.passes import begun_in
from drillbox.hearing.takes import Take
from drillbox.tick import Tick, silent, stage

_Rank = tuple[int, float, int]
"""The word, the accuracy, and how few the notes are."""


def best_part(line: Expected, takes: Sequence[Take], tick: Tick = silent) -> Take:
    """Return the take that would be rated best, of those alike the one with the fewest notes.

    Where all of them are lost it is the one with most of the line and least beside it, in whatever
    key and at whatever tempo. ``tick`` hears of takes looked at.
    """
    if len(takes) == 1:
        return takes[0]
    ranks, looked = [], stage(tick, 0, 2)
    for number, take in enumerate(takes):
        looked(number, len(takes))
        ranks.append(_rank(line, take))
    best = max(range(len(takes)), key=ranks.__getitem__)
    return takes[best] if ranks[best][0] else _in_any_key(line, takes, stage(tick, 1, 2))


def _rank(line: Expected, take: Take) -> _Rank:
    found = by_worst_time(line, take)[0]
    accuracy = found.heard.accuracy if found.heard else 0.0
    return WORDS.index(found.word), accuracy, -len(take.notes)


def _in_any_key(line: Expected, takes: Sequence[Take], tick: Tick) -> Take:
    keys = [line.transposed(semitones) for semitones in range(12)]
    most = [max(_most_alike(key, take) for key in keys) for take in takes]
    best, alike = 0, -1.0
    for count, each in enumerate(sorted(range(len(takes)), key=lambda each: -most[each])):
        tick(count, len(takes))
        if most[each] <= alike:
            break
        take = replace(takes[each], beat=None)
        found = max(_alike(one) for key in keys for one in begun_in(key, take).values())
        if found > alike:
            best, alike = each, found
    return takes[best]


def _alike(heard: Pass) -> float:
    """Return 1 where line and notes are the same, 0 where nothing is (Dice 1945)."""
    return 2 * len(heard.right) / (len(heard.line) + len(heard.notes))


def _most_alike(line: Expected, take: Take) -> float:
    """Return what ``_alike`` could be at most, whatever the order of the notes."""
    right = (Counter(line.classes) & Counter(note.pitch % 12 for note in take.notes)).total()
    return 2 * right / (len(line) + right)
