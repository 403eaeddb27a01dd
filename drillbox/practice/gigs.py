"""A gig: what will be ready by then at the player's minutes, what won't, and what to leave."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, NamedTuple, get_args

from drillbox.errors import BadInput
from drillbox.memory.candidates import Pace, expected_seconds
from drillbox.memory.rules import Rules
from drillbox.music.fits import Fit, Time
from drillbox.music.tunes import Tune
from drillbox.practice.fits import Repertoire, Row, TuneFits, bare_bars, fits_in, repertoire
from drillbox.practice.preferences import Preferences
from drillbox.practice.readiness import READY, Cards, pace_of
from drillbox.store.access import Store
from drillbox.store.naming import pasted
from drillbox.store.tune_rows import find_gig
from drillbox.store.values import GigRecord

Prospect = Literal["ready", "will be", "leave"]
GOES = 3  # of a day: the cold one and two after it
LONGEST = 30  # days of practice that are reckoned with


@dataclass(frozen=True, slots=True)
class Need:
    """What a gig asks for, and what comes of it: a ``row`` of its tunes, the fastest of those that
    want this key of a phrase.

    ``places`` of the gig's tunes are served by it. ``visits`` on days of their own are
    reckoned to make it ready, each taking the minutes ``a_day``; None where a month of them
    doesn't.
    """

    row: Row
    places: int
    visits: int | None
    a_day: float
    prospect: Prospect

    @property
    def minutes(self) -> float:
        """Return the minutes that make it ready: 0 where it is, and where none do."""
        return (self.visits or 0) * self.a_day


@dataclass(frozen=True, slots=True)
class GigView:
    """A gig as it stands on a practice day: its tunes and what they need, most useful first.

    ``days`` are left for practice, today among them, with ``minutes`` on each; none once the
    day has come and gone.
    """

    title: str
    day: date
    today: date
    days: int
    minutes: int
    tunes: tuple[TuneFits, ...]
    needs: tuple[Need, ...]

    @property
    def over(self) -> bool:
        """Return whether the gig has been."""
        return self.day < self.today

    @property
    def to_drill(self) -> list[Need]:
        """Return what a drill for it plays: what will be ready by then if it is drilled, or else
        what is ready, or else what needs the fewest days, as much of it as a day holds."""
        for prospect in ("will be", "ready"):
            if found := [each for each in self.needs if each.prospect == prospect]:
                return found
        nearest: list[Need] = []
        left = float(self.minutes)
        for need in sorted(self.needs, key=lambda each: each.visits or LONGEST):
            if nearest and need.a_day > left:
                break
            nearest.append(need)
            left -= need.a_day
        return nearest


def gig_view(store: Store, preferences: Preferences, gig: GigRecord, today: date) -> GigView:
    """Return a gig as it stands; chances are those of its day, or of today once it has been."""
    own = repertoire(store, preferences.rules, max(gig.day, today))
    tunes = [each.tune for each in gig.tunes]
    pace = pace_of(store, preferences)
    return gig_of(gig.title, gig.day, tunes, own, today, preferences, pace)


def gig_of(
    title: str,
    day: date,
    tunes: Sequence[Tune],
    own: Repertoire,
    today: date,
    preferences: Preferences,
    pace: Pace,
) -> GigView:
    """Return a gig of tunes at concert pitch; the chances of ``own`` are those of its day."""
    pages = tuple(fits_in(each, own, preferences) for each in tunes)
    days = max(0, (day - today).days)
    rules = preferences.rules
    needs = [_need_of(each, own.cards, days, rules, pace) for each in _each_row_once(pages)]
    minutes = rules.minutes
    return GigView(
        title, day, today, days, minutes, pages, tuple(_needs_within(needs, days * minutes))
    )


def goals_for(store: Store, preferences: Preferences, name: str, today: date) -> dict[int, int]:
    """Return the cards that a drill for a gig plays, each with the tempo that it is wanted at.

    Raises NotFound for a gig that isn't there, BadInput for one that has been, or that asks for
    nothing.
    """
    view = gig_view(store, preferences, find_gig(store, name), today)
    if view.over:
        raise BadInput(
            f"{view.title!r} was on {view.day}",
            "Drill without --gig; 'drillbox gig list' has more.",
        )
    if not view.tunes:
        raise BadInput(f"{view.title!r} has no tunes left", tunes_again(view.title))
    if not view.needs:
        raise BadInput(
            f"None of your phrases fits into the tunes of {view.title!r} at a tempo near its goal",
            "See what fits, and how fast, with: drillbox fits TUNE",
        )
    return {each.row.ready.card_id: each.row.tempo for each in view.to_drill}


def tunes_again(title: str) -> str:
    """Say how a gig gets tunes again."""
    return f"Give it some: drillbox gig edit {pasted(title)} --tunes '1, 2'"


@dataclass(slots=True)
class _Demand:
    """A row that tunes ask for, and at how many of their places; the fastest counts."""

    row: Row
    places: int = 0


def _each_row_once(tunes: Iterable[TuneFits]) -> list[_Demand]:
    found: dict[int, _Demand] = {}
    for tune in tunes:
        for row, fits in rows_to_play(tune):
            demand = found.setdefault(row.ready.card_id, _Demand(row))
            demand.places += len({fit.start for fit in fits})
            if row.tempo > demand.row.tempo:
                demand.row = row
    return list(found.values())


class ToPlay(NamedTuple):
    """A row that is to be played in a tune, and which of its places are its own."""

    row: Row
    fits: tuple[Fit, ...]


def rows_to_play(found: TuneFits) -> list[ToPlay]:
    """Return which phrase to play where in a tune.

    Of rows that overlap the one that asks least is taken, and of equal ones the readier. What
    would have to go by far faster than the phrase's goal isn't played, nor is a part of one.
    """
    rows = [row for row in found.rows if row.fit.part == "whole" and row.in_reach]
    rows.sort(key=lambda row: (row.fit.kind, -row.ready.chance, row.starts[0]))
    last = found.tune.chorus[1] * found.tune.chart.meter.bar
    taken: list[tuple[Time, Time]] = []
    chosen = []
    for row in rows:
        spans = [(fit, fit.start, min(fit.end, last) if fit.over_seam else fit.end)
                 for fit in row.fits]  # fmt: skip
        free = [
            (fit, begin, end) for fit, begin, end in spans
            if not any(a < end and begin < b for a, b in taken)
        ]  # fmt: skip
        taken += [(begin, end) for _, begin, end in free]
        if free:
            chosen.append(ToPlay(row, tuple(fit for fit, _, _ in free)))
    return chosen


def bars_to_play(found: TuneFits) -> int:
    """Return how many of a tune's bars are covered by what is to be played there."""
    bare = bare_bars(found.tune, [fit for each in rows_to_play(found) for fit in each.fits])
    return len(found.tune.chart.bars) - sum(after - first for first, after in bare)


def _need_of(demand: _Demand, cards: Cards, days: int, rules: Rules, pace: Pace) -> Need:
    """Return what a row asks for; how many visits make it ready, and leave where days lack."""
    row = demand.row
    card = cards.card(row.ready.card_id)
    chances = enumerate(cards.to_come(card, LONGEST, row.tempo))
    visits = next((number for number, chance in chances if chance >= READY), None)
    a_day = GOES * expected_seconds(card.quarters, row.tempo, pace, rules) / 60
    in_time = visits is not None and visits <= days
    prospect: Prospect = "leave" if not in_time else "will be" if visits else "ready"
    return Need(row, demand.places, visits, a_day, prospect)


def _needs_within(needs: Sequence[Need], minutes: float) -> list[Need]:
    """Return the needs by what comes of them; what the minutes don't hold is to be left.

    Those that serve most places for their minutes are drilled first.
    """
    left, found = minutes, []
    for need in sorted(needs, key=lambda each: each.minutes / each.places):
        if need.prospect == "leave" or need.minutes > left:
            found.append(replace(need, prospect="leave"))
            continue
        left -= need.minutes
        found.append(need)
    order = get_args(Prospect)
    found.sort(key=lambda each: (order.index(each.prospect), -each.places, each.row.title))
    return found
