"""A gig: what will be ready by then at the player's minutes, what won't, and what to leave."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from shlex import quote
from typing import Literal, get_args

from drillbox.errors import BadInput
from drillbox.memory.candidates import Pace, expected_seconds
from drillbox.memory.rules import Rules
from drillbox.music.fits import Time
from drillbox.music.keys import Key
from drillbox.music.tunes import Tune
from drillbox.practice.fits import Repertoire, Row, TuneFits, fits_in, repertoire
from drillbox.practice.preferences import Preferences
from drillbox.practice.readiness import READY, Cards, pace_of
from drillbox.store.access import Store
from drillbox.store.tune_rows import find_gig
from drillbox.store.values import GigRecord

Prospect = Literal["ready", "will be", "leave"]
GOES = 3  # of a day: the cold one and two after it
REACH = 1.1  # a place that asks for more than the goal by so much is not planned for


@dataclass(frozen=True, slots=True)
class Need:
    """A key of a phrase that a gig asks for, at a tempo, and what comes of it.

    ``places`` of the gig's tunes are served by it. ``visits`` on days of their own are
    reckoned to make it ready, taking ``minutes``; both are 0 where it is ready already.
    """

    card_id: int
    title: str
    key: Key
    tempo: int
    places: int
    tunes: tuple[str, ...]
    chance: float
    visits: int
    minutes: float
    prospect: Prospect


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
    needs = [_need_of(each, own.cards, days, rules, pace) for each in _each_row_once(pages, own)]
    minutes = rules.minutes
    return GigView(
        title, day, today, days, minutes, pages, tuple(_needs_within(needs, days * minutes))
    )


def goals_for(store: Store, preferences: Preferences, name: str, today: date) -> dict[int, int]:
    """Return the cards that a drill for a gig plays, each with the tempo that it is wanted at.

    These are the keys that will be ready by then if they are drilled; where there are none left,
    those that are. Raises NotFound for a gig that isn't there, BadInput for one that has been or
    that no drill helps.
    """
    view = gig_view(store, preferences, find_gig(store, name), today)
    if view.over:
        raise BadInput(
            f"{view.title!r} was on {view.day}",
            "Drill without --gig; 'drillbox gig list' has more.",
        )
    for prospect in ("will be", "ready"):
        if goals := {n.card_id: n.tempo for n in view.needs if n.prospect == prospect}:
            return goals
    raise BadInput(
        f"None of the keys for {view.title!r} can be ready by then",
        f"See why with: drillbox gig show {quote(view.title)}",
    )


@dataclass(slots=True)
class _Wanted:
    """A row that is to be played, and at how many places of which tunes; the fastest counts."""

    row: Row
    places: int
    tunes: dict[str, None]


def _each_row_once(tunes: Iterable[TuneFits], own: Repertoire) -> list[_Wanted]:
    found: dict[int, _Wanted] = {}
    for tune in tunes:
        for row, starts in rows_to_play(tune, own):
            wanted = found.setdefault(row.ready.card_id, _Wanted(row, 0, {}))
            wanted.places += len(starts)
            wanted.tunes[tune.tune.title] = None
            if row.tempo > wanted.row.tempo:
                wanted.row = row
    return list(found.values())


def rows_to_play(found: TuneFits, own: Repertoire) -> list[tuple[Row, tuple[Time, ...]]]:
    """Return which phrase to play where in a tune: rows, and which of their places are theirs.

    Of rows that overlap the one that asks least is taken, and of equal ones the readier. What
    would have to go by far faster than the phrase's goal isn't played, nor is a part of one.
    """
    rows = [
        row for row in found.rows
        if row.fit.part == "whole" and row.tempo <= own.phrases[row.phrase].tempo * REACH
    ]  # fmt: skip
    rows.sort(key=lambda row: (row.fit.kind, -row.ready.chance, row.starts[0]))
    taken: list[tuple[Time, Time]] = []
    chosen = []
    for row in rows:
        spans = [(start, start + row.fit.length) for start in row.starts]
        free = [
            (begin, end) for begin, end in spans
            if not any(a < end and begin < b for a, b in taken)
        ]  # fmt: skip
        taken += free
        if free:
            chosen.append((row, tuple(begin for begin, _ in free)))
    return chosen


def _need_of(wanted: _Wanted, cards: Cards, days: int, rules: Rules, pace: Pace) -> Need:
    """Return what a row asks for; how many visits make it ready, and leave where none do."""
    row = wanted.row
    card = cards.card(row.ready.card_id)
    visits = next((n for n in range(days + 1) if cards.after(card, n, row.tempo) >= READY), None)
    goes = GOES * (days if visits is None else visits)
    minutes = goes * expected_seconds(card.quarters, row.tempo, pace, rules) / 60
    prospect: Prospect = "leave" if visits is None else "will be" if visits else "ready"
    return Need(
        card.card_id, row.title, row.key, row.tempo, wanted.places, tuple(wanted.tunes),
        row.ready.chance, visits or 0, 0.0 if visits is None else minutes, prospect,
    )  # fmt: skip


def _needs_within(needs: Sequence[Need], minutes: float) -> list[Need]:
    """Return the needs by what comes of them; what the minutes don't hold is to be left.

    Those that serve most places for their minutes are drilled first.
    """
    left, found = minutes, []
    for need in sorted(needs, key=lambda each: each.minutes / each.places):
        if need.minutes > left:
            found.append(replace(need, prospect="leave"))
            continue
        left -= need.minutes
        found.append(need)
    order = get_args(Prospect)
    return sorted(found, key=lambda each: (order.index(each.prospect), -each.places, each.title))
