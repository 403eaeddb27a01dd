"""Whether a player calls clean what is rough, told by how their misses come out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from drillbox.memory.recall import Recall

# How misses come out before there are any, the share of lost ones among lost and rough, near the
# tempo reached and later on a day, and the number of misses that this counts for; no fewer well
# below the tempo reached tell anything. Assumed; see ``is_lenient``.
LOST_NEAR, LOST_LATER, FEW_MISSES = 0.25, 0.2, 7
SLOW = 1.1  # a tempo is well below the one reached by this factor
LENIENT, ALIKE = (0.36, 0.72), 0.16  # all shares lie between these, and no further apart
HABIT = 180  # days whose misses are looked at: how one rates changes slowly, and misses are few
MORE_MISSED = 4  # see ``Misses``
FLUENT_SHARE = 0.25  # of clean or better goes, in somebody who can do without the word clean


class Missed(NamedTuple):
    """How many goes of a kind were lost, and how many rough."""

    lost: int = 0
    rough: int = 0

    @property
    def total(self) -> int:
        """Return how many there are."""
        return self.lost + self.rough


class Misses(NamedTuple):
    """What was missed in the latest ``HABIT`` days, by kinds of goes: a day's first ones at a
    card at a tempo well below the one reached, the other first ones, and all later ones.

    Those at keys that were missed on ``MORE_MISSED`` days more than they began clean on, or
    even more, are left out: a few that never come out would be most of the misses.
    """

    slow: Missed = Missed()
    near: Missed = Missed()
    later: Missed = Missed()


NO_MISSES = Misses()


def is_lenient(recalls: Sequence[Recall], misses: Misses) -> bool:
    """Return whether a player calls clean what is rough, as far as ``recalls``, those of their
    latest cold goes, and what they missed tell.

    Well below the tempo reached the fingers can do it: what is missed there was forgotten, and
    is lost. Later on a day it has just been played: what is missed then mostly comes out rough.
    Of other first goes some are forgotten and some slip. Where lost goes are as frequent in all
    of these, hardly any miss is called rough that should be. (In ratings that is a leniency
    error.) Who hardly says rough or fluent at all has fewer words than four, and of them nothing
    is known.
    """
    good = [each for each in recalls if each >= Recall.CLEAN]
    if good.count(Recall.FLUENT) < FLUENT_SHARE * len(good):
        return False
    shares = [_lost(misses.near, LOST_NEAR), _lost(misses.later, LOST_LATER)]
    if misses.slow.total >= FEW_MISSES:
        shares.append(misses.slow.lost / misses.slow.total)
    least, most = LENIENT
    return least <= min(shares) and max(shares) <= min(most, min(shares) + ALIKE)


def _lost(missed: Missed, usual: float) -> float:
    """Return the share of lost goes among missed ones, held towards the usual one."""
    return (missed.lost + usual * FEW_MISSES) / (missed.total + FEW_MISSES)
