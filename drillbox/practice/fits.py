"""Where phrases fit into a tune, in which key, at what tempo, how ready."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from itertools import groupby
from typing import Any

from drillbox.memory.rules import Rules
from drillbox.music.fits import Fit, Kind, Phrases, Time, ticks
from drillbox.music.keys import Key
from drillbox.music.phrases import Phrase
from drillbox.music.tunes import Tune
from drillbox.practice.preferences import Preferences, tune_as_read
from drillbox.practice.readiness import READY, Cards, Ready, cards_on
from drillbox.store.access import Store
from drillbox.store.phrase_rows import phrases_in_practice

REACH = 1.1  # a place that asks for more than the goal by so much isn't one to practise for
MOST_AT_A_PLACE = 4  # phrases that are listed for one place; of the rest only the number is said


@dataclass(frozen=True, slots=True)
class Row:
    """A phrase at one place of a tune, or at several that are alike.

    ``fits`` are the places, by bar; ``key`` is as the player reads it; ``tempo`` the one at
    which the phrase has to come out there, ``goal`` the one that the phrase is drilled for.
    """

    fits: tuple[Fit, ...]
    phrase: int
    title: str
    key: Key
    tempo: int
    goal: int
    ready: Ready

    @property
    def in_reach(self) -> bool:
        """Return whether the phrase's goal is as fast as the place, or nearly so."""
        return self.tempo <= self.goal * REACH

    @property
    def ready_in_words(self) -> str:
        """Return how ready the phrase is for it, and that it is too fast where it's out of
        reach."""
        return self.ready.words if self.in_reach else "too fast"

    @property
    def fit(self) -> Fit:
        """Return the first of the places."""
        return self.fits[0]

    @property
    def starts(self) -> tuple[Time, ...]:
        """Return when it begins, in quarter notes from the tune's first bar.

        Once where the end of the chorus leads to its top and into the coda alike.
        """
        return tuple(dict.fromkeys(fit.start for fit in self.fits))


@dataclass(frozen=True, slots=True)
class TuneFits:
    """A tune as the player reads it and what fits into it, by bar, the readier first.

    ``more`` is how many further rows there are at places that have enough; ``bare`` the bars,
    from 0, that no phrase covers, as (first, after the last).
    """

    tune: Tune
    rows: tuple[Row, ...]
    more: int
    bare: tuple[tuple[int, int], ...]

    @property
    def bare_sections(self) -> tuple[tuple[str, int, int], ...]:
        """Return the sections of the form of which no bar is covered."""
        return tuple(
            (name, first, end)
            for name, first, end in self.tune.sections()
            if any(begin <= first and end <= after for begin, after in self.bare)
        )

    @property
    def to_drill(self) -> tuple[Row, ...]:
        """Return the rows in reach that aren't ready, each key and tempo of a phrase once, easiest
        first."""
        once: dict[tuple[object, ...], Row] = {}
        for row in sorted(self.rows, key=lambda row: row.fit.kind):
            if row.in_reach and row.ready.chance < READY:
                once.setdefault((row.phrase, row.key, row.tempo), row)
        return tuple(once.values())


@dataclass(frozen=True, slots=True)
class Repertoire:
    """The player's phrases ready to be looked for, and their cards on a day."""

    phrases: Mapping[int, Phrase]
    index: Phrases
    cards: Cards
    _busy: dict[int, Fraction] = field(default_factory=dict)
    """Of a phrase: how many notes a second its line has at one quarter note a minute."""

    def tonic(self, fit: Fit) -> int:
        """Return the pitch class of the key that a phrase needs at a place."""
        return (self.phrases[fit.phrase].key.tonic.pitch_class + fit.up) % 12

    def fits(self, tune: Tune) -> list[Fit]:
        """Return what fits into a tune, in no order.

        Keys that are put aside don't, nor what double time makes too fast to be heard in time.
        """
        all_drilled = len(self.cards) == 12 * len(self.phrases)  # none is put aside
        return [
            fit for fit in self.index.unsorted(tune)
            if (all_drilled or self.cards.has(fit.phrase, self.tonic(fit)))
            and (fit.kind is not Kind.DOUBLE_TIME or self._is_playable(fit, tune.tempo))
        ]  # fmt: skip

    def _is_playable(self, fit: Fit, tempo: int) -> bool:
        """Return whether the line has no more notes a second there than can be heard in time."""
        from drillbox.music.analysis.cautions import FASTEST, notes_a_second  # for double time only

        if fit.phrase not in self._busy:
            self._busy[fit.phrase] = notes_a_second(self.phrases[fit.phrase].line, 1)
        return self._busy[fit.phrase] * tempo * fit.pace <= FASTEST


def repertoire(store: Store, rules: Rules, day: date, *, parts: bool = False) -> Repertoire:
    """Return all phrases in practice and their chances on a practice day.

    ``parts``: their beginnings and ends are looked for as well.
    """
    found = dict(phrases_in_practice(store))
    return Repertoire(found, Phrases(found.items(), parts=parts), cards_on(store, rules, day))


def fits_in(tune: Tune, own: Repertoire, preferences: Preferences) -> TuneFits:
    """Return what fits into a tune at concert pitch, as the player reads it."""
    fits = sorted(own.fits(tune), key=lambda fit: (fit.begins, fit.kind, fit.part))
    rows = [_row_of(alike, tune, own, preferences) for alike in _grouped_alike(fits, tune)]
    rows.sort(key=_readier_first)
    kept, more = _most_at_a_place(rows)
    return TuneFits(tune_as_read(tune, preferences), tuple(kept), more, bare_bars(tune, fits))


def _readier_first(row: Row) -> tuple[Any, ...]:
    """Return what sorts rows by place, what was played by its chance, and what is new, whose chance
    is a guess that nobody sees, by what it asks of the ear; what is too fast comes last."""
    kind, new = row.fit.kind, not row.ready.days
    by = kind if new else -row.ready.chance
    return row.starts[0], not row.in_reach, new, by, kind, row.title


def _grouped_alike(fits: Sequence[Fit], tune: Tune) -> list[list[Fit]]:
    """Return the fits in groups: of one phrase, key and kind, from the same beat of the bar."""
    bar = ticks(tune.chart.meter.bar)

    def likeness(fit: Fit) -> tuple[object, ...]:
        clashes = tuple((each.onset, each.was, each.becomes) for each in fit.clashes)
        return (fit.phrase, fit.up, fit.kind, fit.part, fit.pace, clashes, fit.begins % bar)

    found: dict[tuple[object, ...], list[Fit]] = {}
    for fit in fits:
        found.setdefault(likeness(fit), []).append(fit)
    return list(found.values())


def _row_of(alike: Sequence[Fit], tune: Tune, own: Repertoire, preferences: Preferences) -> Row:
    fit, phrase = alike[0], own.phrases[alike[0].phrase]
    tonic = own.tonic(fit)
    tempo = round(tune.tempo * fit.pace)
    return Row(
        tuple(alike),
        fit.phrase,
        phrase.title,
        preferences.shown_key(own.cards.key(fit.phrase, tonic), phrase.key),
        tempo,
        phrase.tempo,
        own.cards.ready(fit.phrase, tonic, tempo),
    )


def _most_at_a_place(rows: Sequence[Row]) -> tuple[list[Row], int]:
    """Return the rows without those beyond the most at a place, and how many those are."""
    kept: list[Row] = []
    for _, there in groupby(rows, key=lambda row: row.starts[0]):
        kept += list(there)[:MOST_AT_A_PLACE]
    return kept, len(rows) - len(kept)


def bare_bars(tune: Tune, fits: Iterable[Fit]) -> tuple[tuple[int, int], ...]:
    """Return the runs of bars, from 0, in which no fit lies; one over the loop's seam counts."""
    bar, (first, end) = ticks(tune.chart.meter.bar), tune.chorus
    covered: set[int] = set()
    for begins, ends, over_seam in {(fit.begins, fit.ends, fit.over_seam) for fit in fits}:
        for index in range(int(begins // bar), -int(-ends // bar)):
            covered.add(first + index - end if over_seam and index >= end else index)
    bare = [index for index in range(len(tune.chart.bars)) if index not in covered]
    runs = [list(run) for _, run in groupby(enumerate(bare), key=lambda at: at[1] - at[0])]
    return tuple((run[0][1], run[-1][1] + 1) for run in runs)


def fit_in_words(row: Row, *, ascii: bool = False) -> str:
    """Return how a phrase fits, in a few words."""
    kind = row.fit.kind
    named = kind is not Kind.EXACT or row.fit.part == "whole"
    words = (kind.ascii_words if ascii else kind.words) if named else ""
    part = {"whole": "", "beginning": "its beginning", "end": "its end"}[row.fit.part]
    return ", ".join(each for each in (part, words) if each)
