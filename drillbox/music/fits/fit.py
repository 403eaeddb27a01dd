"""A place in a tune where a phrase fits, and which of those that rival for it stay."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import NamedTuple

from drillbox.music.fits.clashes import Clash
from drillbox.music.fits.kinds import Kind, Part
from drillbox.music.fits.shapes import TICKS, Time, int_where_whole


class Fit(NamedTuple):
    """A place in a tune where a phrase fits.

    ``phrase`` is the number that the index was given with it; it ``begins`` and ``ends``, where
    the line has had its say, in ticks of the tune from its first bar; ``up`` is how many
    semitones above its written key the phrase stands there. At the tune's tempo times ``pace``
    the phrase keeps up with it. ``over_seam``: it begins at the chorus's end and goes on at the
    top, where one that isn't goes on into the coda.
    """

    phrase: int
    begins: Time
    ends: Time
    up: int
    kind: Kind
    pace: Time = 1
    part: Part = "whole"
    clashes: tuple[Clash, ...] = ()
    over_seam: bool = False

    @property
    def start(self) -> Time:
        """Return when in the tune it begins, in quarter notes."""
        return int_where_whole(Fraction(self.begins) / TICKS)

    @property
    def end(self) -> Time:
        """Return when in the tune it is over, in quarter notes."""
        return int_where_whole(Fraction(self.ends) / TICKS)

    @property
    def length(self) -> Time:
        """Return how long it lasts, in the tune's quarter notes."""
        return int_where_whole(Fraction(self.ends - self.begins) / TICKS)


def spots(
    fit: Fit, played: Sequence[int], chorus: tuple[int, int], bar: Time
) -> list[tuple[Time, Time]]:
    """Return when a phrase begins and ends, in quarter notes from the first bar that is played.

    ``played`` are the numbers of the tune's bars as they come, each a ``bar`` long. It comes in
    every ``chorus``, past the chorus's end only where the tune goes on as it does in the fit:
    from the top, or into the coda.
    """
    first, end = chorus
    index, within = divmod(fit.start, bar)
    leaves = index < end and fit.end > end * bar
    onward = (first if fit.over_seam else end,)
    found: list[tuple[Time, Time]] = []
    for at, number in enumerate(played):
        after = int(at + end - index)
        if number == index and (not leaves or tuple(played[after : after + 1]) == onward):
            begins = at * bar + within
            found.append((begins, begins + fit.length))
    return found


def order(fit: Fit) -> tuple[object, ...]:
    """Return what sorts fits by bar, then by what they ask of the ear."""
    return fit.begins, fit.kind, fit.part, len(fit.clashes), fit.phrase, fit.up


def without_rivals(fits: Iterable[Fit]) -> list[Fit]:
    """Return the fits without those that ask more than another of the same phrase there.

    Of those that overlap the whole phrase comes before a part, then what asks least, then the
    longer.
    """
    by_phrase: defaultdict[tuple[int, int], list[Fit]] = defaultdict(list)
    for fit in fits:
        by_phrase[fit.phrase, fit.up].append(fit)
    kept: list[Fit] = []
    for rivals in by_phrase.values():
        if len(rivals) == 1:
            kept += rivals
            continue
        rivals.sort(key=lambda f: (f.part != "whole", f.kind, f.begins - f.ends, len(f.clashes)))
        there: list[Fit] = []
        for fit in rivals:
            if not any(each.begins < fit.ends and fit.begins < each.ends for each in there):
                there.append(fit)
        kept += there
    return kept
