"""A tune played through with a phrase at its places, each phrase rated at the end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from fractions import Fraction
from typing import NamedTuple

from drillbox.errors import BadInput
from drillbox.music.charts import Chart
from drillbox.music.fits import Time
from drillbox.music.tunes import Tune
from drillbox.practice.fits import Repertoire, Row, fits_in
from drillbox.practice.gigs import rows_to_play
from drillbox.practice.preferences import Preferences, card_as_read
from drillbox.practice.rating import Played
from drillbox.practice.rounds import Legs
from drillbox.practice.tunes import tune_as_read
from drillbox.store.access import Store
from drillbox.store.card_rows import card

ZERO: Time = 0


class Spot(NamedTuple):
    """A place at which a phrase is to be played: which of the cards, from when to when.

    Both are in quarter notes from the first bar that is played.
    """

    leg: int
    start: Time
    end: Time


class Wanted(NamedTuple):
    """A phrase that is to be played in a tune, and the places that are its own."""

    row: Row
    starts: tuple[Time, ...]


def wanted_in(tune: Tune, own: Repertoire, preferences: Preferences, *, new: bool) -> list[Wanted]:
    """Return what is to be played in a tune, by place; ``new``: also keys never played before.

    Each key of a phrase comes in one way, the one that asks least. Raises BadInput where there
    is nothing.
    """
    found: dict[int, Wanted] = {}
    for row, starts in rows_to_play(fits_in(tune, own, preferences), own):
        if new or row.ready.words != "new":
            found.setdefault(row.ready.card_id, Wanted(row, starts))
    if not found:
        remedy = "See what fits with: drillbox fits; --all takes keys that you never played too"
        raise BadInput(f"None of the keys that you have played fits into {tune.title!r}", remedy)
    return sorted(found.values(), key=lambda each: min(each.starts))


def cues_in(
    tune: Tune, own: Repertoire, preferences: Preferences
) -> tuple[tuple[Fraction, str], ...]:
    """Return which phrase is to be played from when on in a tune, in words."""
    return tuple(
        (Fraction(start), f"{row.title} in {row.key.text()}")
        for row, starts in rows_to_play(fits_in(tune, own, preferences), own)
        for start in starts
    )


class Choruses(Legs):
    """A tune over a store: its bars as they are played, and a card at each of its spots.

    ``order`` holds for each bar that is played its number in the ``tune``, which is as the
    player reads it.
    """

    def __init__(
        self,
        store: Store,
        preferences: Preferences,
        tune: Tune,
        wanted: Sequence[Wanted],
        *,
        tempo: int | None,
        choruses: int,
        now: datetime,
    ) -> None:
        self.tune, self.wanted = tune_as_read(tune, preferences), tuple(wanted)
        self._sounding = tune.chart
        first, end = tune.chorus
        bars = range(len(tune.chart.bars))
        self.order = (*bars[:first], *([*bars[first:end]] * choruses), *bars[end:])
        self.tempo, self.heard = tempo or tune.tempo, ZERO
        self.spots = tuple(sorted(self._spots(), key=lambda spot: spot.start))
        reads = [
            card_as_read(store, card(store, each.row.ready.card_id), preferences)
            for each in self.wanted
        ]
        super().__init__(store, preferences, reads, self.seconds, now)

    def chart_from(self, bar: int) -> Chart:
        """Return what sounds from a bar of those that are played on, at concert pitch."""
        bars = tuple(self._sounding.bars[number] for number in self.order[bar:])
        return replace(self._sounding, bars=bars)

    @property
    def seconds(self) -> float:
        """Return how long all of it lasts."""
        return float(self.length * Fraction(60, self.tempo))

    def _spots(self) -> list[Spot]:
        """Return every spot, in every chorus; one over the loop's seam only where it goes on."""
        bar, (first, end) = self.tune.chart.meter.bar, self.tune.chorus
        found = []
        for leg, each in enumerate(self.wanted):
            for start in each.starts:
                index, within = divmod(start, bar)
                over = index < end and start + each.row.fit.length > end * bar
                for at, number in enumerate(self.order):
                    goes_on = at + end - index < len(self.order)
                    returns = goes_on and self.order[int(at + end - index)] == first
                    if number == index and (returns or not over):
                        begins = at * bar + within
                        found.append(Spot(leg, begins, begins + each.row.fit.length))
        return found

    def played(self, index: int, attempt: str) -> Played:
        """Return how a card was played: at the tempo that it took here, as often as it came."""
        places = [spot for spot in self.spots if spot.leg == index and spot.end <= self.heard]
        quarters = sum((spot.end - spot.start for spot in places), Fraction(0))
        seconds = float(quarters * Fraction(60, self.tempo))
        tempo = round(self.tempo * self.wanted[index].row.fit.pace)
        return Played(self.reads[index], tempo, seconds, len(places), attempt, in_round=True)

    @property
    def length(self) -> Fraction:
        """Return how long all of it is, in quarter notes."""
        return len(self.order) * self.tune.chart.meter.bar

    def hear(self, quarters: Time) -> None:
        """Take the tune as played so far; the cards that had a spot by then can be rated."""
        self.heard = max(self.heard, quarters)
        met = {spot.leg for spot in self.spots if spot.end <= self.heard}
        self.play_to(next((leg for leg in range(len(self.reads)) if leg not in met), len(met)))

    def now_and_next(self, quarters: Time) -> tuple[Spot | None, Spot | None]:
        """Return the spot that sounds then, and the one that comes after it."""
        now = next((s for s in self.spots if s.start <= quarters < s.end), None)
        coming = next((s for s in self.spots if s.start > quarters), None)
        return now, coming
