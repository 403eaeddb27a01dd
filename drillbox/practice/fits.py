"""Where phrases fit into a tune, in which key, at what tempo, how ready; which serve many."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from itertools import groupby

from drillbox.memory.rules import Rules
from drillbox.music.fits import Fit, Kind, Phrases, ticks
from drillbox.music.keys import Key, twelve
from drillbox.music.phrases import Phrase
from drillbox.music.tunes import Tune
from drillbox.practice.preferences import Preferences, tune_as_read
from drillbox.practice.readiness import READY, Cards, Ready, cards_on
from drillbox.store.access import Store
from drillbox.store.phrase_rows import phrases_in_practice

MOST_AT_A_PLACE = 4  # phrases that are listed for one place; of the rest only the number is said


@dataclass(frozen=True, slots=True)
class Row:
    """A phrase at one place of a tune, or at several that are alike.

    ``starts`` are in quarter notes from the tune's first bar; ``key`` is as the player reads
    it; ``tempo`` the one at which the phrase has to come out there.
    """

    starts: tuple[Fraction | int, ...]
    phrase: int
    title: str
    key: Key
    fit: Fit
    tempo: int
    ready: Ready


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
        """Return the rows that aren't ready, each key and tempo of a phrase once, easiest first."""
        waiting = sorted(
            (row for row in self.rows if row.ready.chance < READY), key=lambda row: row.fit.kind
        )
        once = {(row.phrase, row.key, row.tempo): row for row in reversed(waiting)}
        return tuple(reversed(once.values()))


@dataclass(frozen=True, slots=True)
class Repertoire:
    """The player's phrases ready to be looked for, and their cards on a day."""

    phrases: Mapping[int, Phrase]
    index: Phrases
    cards: Cards

    def tonic(self, fit: Fit) -> int:
        """Return the pitch class of the key that a phrase needs at a place."""
        return (self.phrases[fit.phrase].key.tonic.pitch_class + fit.up) % 12

    def fits(self, tune: Tune) -> list[Fit]:
        """Return what fits into a tune, in no order; keys that are put aside don't."""
        found = self.index.unsorted(tune)
        if len(self.cards) == 12 * len(self.phrases):  # none is put aside
            return found
        return [fit for fit in found if self.cards.has(fit.phrase, self.tonic(fit))]


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
    rows.sort(key=lambda row: (row.starts[0], -row.ready.chance, row.fit.kind, row.title))
    kept, more = _most_at_a_place(rows)
    return TuneFits(tune_as_read(tune, preferences), tuple(kept), more, bare_bars(tune, fits))


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
        tuple(each.start for each in alike),
        fit.phrase,
        phrase.title,
        preferences.shown_key(own.cards.key(fit.phrase, tonic), phrase.key),
        fit,
        tempo,
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
    for begins, ends in {(fit.begins, fit.ends) for fit in fits}:
        for index in range(int(begins // bar), -int(-ends // bar)):
            covered.add(index if index < end or begins >= end * bar else first + index - end)
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


@dataclass(frozen=True, slots=True)
class Serving:
    """How much a phrase serves: in how many tunes, at how many places, in which keys."""

    title: str
    tunes: int
    places: int
    keys: tuple[Key, ...]


@dataclass(frozen=True, slots=True)
class Needed:
    """How often a key is needed: in how many tunes, at how many places, by how many phrases."""

    key: Key
    tunes: int
    places: int
    phrases: int


@dataclass(frozen=True, slots=True)
class Overview:
    """What fits over all tunes.

    ``serving`` has the phrases that serve most first, ``idle`` those that fit nowhere;
    ``needed`` the keys of the phrases' modes, those needed most first, and those that no tune
    needs last.
    """

    serving: tuple[Serving, ...]
    needed: tuple[Needed, ...]
    idle: tuple[str, ...]


@dataclass(slots=True)
class _Count:
    """Places as they are counted, and in which tunes, keys or phrases they lie."""

    places: int = 0
    tunes: set[int] = field(default_factory=set)
    others: set[int] = field(default_factory=set)

    def add(self, tune: int, other: int, places: int) -> None:
        self.places += places
        self.tunes.add(tune)
        self.others.add(other)


def overview(
    tunes: Iterable[Tune],
    own: Repertoire,
    preferences: Preferences,
    tell: Callable[[str, float], object] = lambda _, __: None,
) -> Overview:
    """Return which phrases serve most over all tunes, and which keys these need.

    ``tell`` hears of each tune, once it was looked through, its title and the share of bars
    that something fits.
    """
    phrases: defaultdict[int, _Count] = defaultdict(_Count)
    keys: defaultdict[tuple[str, int], _Count] = defaultdict(_Count)
    homes = {n: (each.key.mode, each.key.tonic.pitch_class) for n, each in own.phrases.items()}
    for index, tune in enumerate(tunes):
        fits = own.fits(tune)
        for (phrase, up), places in Counter((fit.phrase, fit.up) for fit in fits).items():
            mode, written = homes[phrase]
            tonic = (written + up) % 12
            phrases[phrase].add(index, tonic, places)
            keys[mode, tonic].add(index, phrase, places)
        bare = sum(after - first for first, after in bare_bars(tune, fits))
        tell(tune.title, 1 - bare / len(tune.chart.bars))
    return Overview(
        _serving(phrases, own, preferences),
        _needed(keys, own, preferences),
        tuple(each.title for number, each in own.phrases.items() if number not in phrases),
    )


def _serving(
    counts: Mapping[int, _Count], own: Repertoire, preferences: Preferences
) -> tuple[Serving, ...]:
    found = []
    for number, count in counts.items():
        phrase = own.phrases[number]
        round_fourths = sorted(count.others, key=lambda tonic: tonic * 5 % 12)
        keys = (own.cards.key(number, tonic) for tonic in round_fourths)
        shown = tuple(preferences.shown_key(key, phrase.key) for key in keys)
        found.append(Serving(phrase.title, len(count.tunes), count.places, shown))
    return tuple(sorted(found, key=lambda each: (-each.tunes, -each.places, each.title)))


def _needed(
    counts: Mapping[tuple[str, int], _Count], own: Repertoire, preferences: Preferences
) -> tuple[Needed, ...]:
    modes = dict.fromkeys(phrase.key.mode for phrase in own.phrases.values())
    found = []
    for key in (key for mode in modes for key in twelve(mode, preferences.spelling)):
        count = counts.get((key.mode, key.tonic.pitch_class), _Count())
        shown = preferences.shown_key(key)
        found.append(Needed(shown, len(count.tunes), count.places, len(count.others)))
    return tuple(sorted(found, key=lambda each: (-each.tunes, -each.places)))
