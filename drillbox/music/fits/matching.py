"""Where phrases fit into a tune: an index of the phrases' shapes, looked up along its changes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from drillbox.music.charts import Bar
from drillbox.music.fits.clashes import Clash
from drillbox.music.fits.judging import Heard, Window, window_of
from drillbox.music.fits.kinds import Kind, Part
from drillbox.music.fits.shapes import (
    TICKS,
    Change,
    Shape,
    Time,
    int_where_whole,
    shape_of,
    strong_beat_distance,
    ticks,
)
from drillbox.music.fits.variants import Around, Token, Variant, last_chord_needed, parts, variants
from drillbox.music.phrases import HIGHEST_TEMPO, LOWEST_TEMPO, Phrase
from drillbox.music.tunes import Tune

# These change what the line is heard against so much that without its notes nobody can say.
_NEED_A_LINE = {Kind.BACKDOOR, Kind.MODE}


class Fit(NamedTuple):
    """A place in a tune where a phrase fits.

    ``phrase`` is the number that the index was given with it; it ``begins`` and ``ends``, where
    the line has had its say, in ticks of the tune from its first bar; ``up`` is how many
    semitones above its written key the phrase stands there. At the tune's tempo times ``pace``
    the phrase keeps up with it.
    """

    phrase: int
    begins: Time
    ends: Time
    up: int
    kind: Kind
    pace: Time = 1
    part: Part = "whole"
    clashes: tuple[Clash, ...] = ()

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


class _Member(NamedTuple):
    """A phrase among those of one shape, and how much of the last chord its line needs."""

    heard: Heard
    need: Time


# Of a phrase at a place: its number, the place's length in ticks, semitones from its written key
# to the root of the place's first change, kind and clashes.
_Outcome = tuple[int, Time, int, Kind, tuple[Clash, ...]]


class _Pattern:
    """A variant of a shape, and the phrases that have it."""

    def __init__(self, variant: Variant, unit: tuple[Time, bool]) -> None:
        self.variant, self.unit = variant, unit
        self.lead = int_where_whole(variant.begins / Fraction(variant.pace))
        self.members: list[_Member] = []
        self._outcomes: dict[tuple[object, ...], list[_Outcome]] = {}

    def outcomes(self, window: Window, root: int, landing: Time) -> list[_Outcome]:
        """Return what comes of its phrases at a place whose first change has a root.

        ``landing`` is how long after its beginning the last change comes. Places that sound
        alike are judged once.
        """
        if window.key not in self._outcomes:
            found = self._outcomes[window.key] = []
            for heard, need in self.members:
                up = root - self.variant.tokens[0].root - heard.root
                length = int_where_whole(landing + need)
                if length <= window.length and (
                    verdict := heard.verdict(self.variant, window, length, up % 12)
                ):
                    found.append((heard.number, ticks(length), up - root, *verdict))
        return self._outcomes[window.key]


_Key = tuple[object, ...]
# Phrases with all of this in common stand in the same places: changes from the first root up,
# when the first one begins, double time or not, and the meter's strong beats.
_Common = tuple[tuple[Token, ...], int, Time, bool, tuple[Time, bool]]


class Phrases:
    """Phrases ready to be looked for in tunes; ``parts`` looks for beginnings and ends as well.

    Every shape of a phrase is kept under what doesn't change with the key: its qualities, the
    intervals between its roots and the lengths of its inner chords. A tune then costs a walk
    along its changes, however many phrases and keys there are.
    """

    def __init__(self, phrases: Iterable[tuple[int, Phrase]], *, parts: bool = False) -> None:
        self._patterns: dict[_Key, list[_Pattern]] = {}
        self._begun: set[_Key] = set()
        self._longest: Time = 0
        known: dict[_Common, list[_Pattern]] = {}
        for number, phrase in phrases:
            heard = Heard(number, phrase)
            common = _common(heard)
            if common is None:
                continue
            if common not in known:
                known[common] = self._file(common, with_parts=parts)
            for pattern in known[common]:
                if phrase.line or pattern.variant.kind not in _NEED_A_LINE:
                    need = last_chord_needed(pattern.variant, heard.spare)
                    pattern.members.append(_Member(heard, need))

    def _file(self, common: _Common, *, with_parts: bool) -> list[_Pattern]:
        """Keep every variant of a shape under its key; return them."""
        tokens, _, first, double_time, unit = common
        found = list(variants(tokens, double_time=double_time))
        if with_parts:
            found += parts(tokens)
        patterns = []
        for variant in found:
            placed = variant._replace(begins=variant.begins + first)
            patterns.append(_Pattern(placed, unit))
            self._longest = max(self._longest, sum(each.length for each in variant.tokens))
            keys = list(_keys(variant.tokens))
            self._begun.update(keys)
            self._patterns.setdefault(keys[-1], []).append(patterns[-1])
        return patterns

    def fits(self, tune: Tune) -> list[Fit]:
        """Return every place in the tune where a phrase fits, by bar, then by kind.

        A place is offered once for each phrase, as what asks least of the ear. The chorus is
        heard as a loop: a place may begin at its end and go on at its beginning.
        """
        return sorted(self.unsorted(tune), key=_order)

    def unsorted(self, tune: Tune) -> list[Fit]:
        """Return every place as ``fits`` does, in no order."""
        bar, (first, end) = int_where_whole(tune.chart.meter.bar), tune.chorus
        found = list(self._in(tune, tune.chart.bars))
        reach = min(end - first, -int(-self._longest // bar))
        start, seam = ticks(bar * (end - reach)), bar * reach
        bars = tune.chart.bars
        around = (*bars[end - reach : end], *bars[first : first + reach])
        over = [
            each._replace(begins=each.begins + start, ends=each.ends + start)
            for each in self._in(tune, around, seam)
            if each.begins < ticks(seam) < each.ends
        ]
        return [*_least(found), *_least(over)]

    def _in(self, tune: Tune, bars: Sequence[Bar], seam: Time | None = None) -> Iterator[Fit]:
        """Yield the places in bars; those that can't lie across a ``seam`` are left out."""
        shape = shape_of(bars, tune.chart.meter)
        place = _Place(tune, shape)
        for at, change in enumerate(shape.changes):
            if seam is not None and change.start >= seam:
                return
            for count, key in enumerate(_keys(shape.changes[at:]), start=1):
                if key not in self._begun:
                    break
                if seam is None or shape.changes[at + count - 1].end > seam:
                    for pattern in self._patterns.get(key, ()):
                        yield from place.fits(pattern, at, count)


def _order(fit: Fit) -> tuple[object, ...]:
    return fit.begins, fit.kind, fit.part, len(fit.clashes), fit.phrase, fit.up


def _common(heard: Heard) -> _Common | None:
    """Return what decides in which places a phrase stands; None where no chord sounds in it."""
    changes = heard.sounding
    if not changes:
        return None
    root, meter = changes[0].root, heard.phrase.chart.meter
    tokens = tuple(Token((each.root - root) % 12, each.quality, each.length) for each in changes)
    unit = (strong_beat_distance(meter), meter.unit >= 8)
    return tokens, len(tokens), changes[0].start, heard.phrase.double_time, unit


def _keys(changes: Sequence[Token | Change]) -> Iterator[_Key]:
    """Yield the key of the first change, of the first two and so on."""
    key: _Key = ()
    for index, change in enumerate(changes):
        if index == 0:
            key = (change.quality,)
        else:
            before = changes[index - 1]
            inner = (before.length,) if index > 1 else ()
            key = (*key, *inner, (change.root - before.root) % 12, change.quality)
        yield key


class _Place:
    """A tune whose changes are being looked at."""

    def __init__(self, tune: Tune, shape: Shape) -> None:
        self.tune, self.shape = tune, shape
        meter = tune.chart.meter
        self._bar, self._strong = int_where_whole(meter.bar), strong_beat_distance(meter)
        self._unit = (self._strong, meter.unit >= 8)
        self._windows: dict[tuple[Time, Time], Window] = {}

    def fits(self, pattern: _Pattern, at: int, count: int) -> Iterator[Fit]:
        """Yield how the phrases of a pattern lie over ``count`` changes from one on."""
        changes, variant = self.shape.changes[at : at + count], pattern.variant
        start = self._start(pattern, changes)
        if start is None or not self._allowed(variant, changes, at + count):
            return
        landing = 0 if count == 1 else int_where_whole(changes[-1].start - start)
        window, root = self._window(start, changes[-1].end), changes[0].root
        pace, part, begins = variant.pace, variant.part, ticks(start)
        for number, length, up, kind, clashes in pattern.outcomes(window, root, landing):
            ends = begins + length
            yield Fit(number, begins, ends, (root + up) % 12, kind, pace, part, clashes)

    def _window(self, start: Time, end: Time) -> Window:
        found = self._windows.get((start, end))
        if found is None:
            found = self._windows[start, end] = window_of(self.shape, start, end)
        return found

    def _start(self, pattern: _Pattern, changes: Sequence[Change]) -> Time | None:
        """Return when the phrase begins there, None where it can't.

        A line in 4/4 goes over bars of 2/2 and 2/4 as well, as their strong beats lie alike; a
        beginning or end keeps its place in the bar.
        """
        if pattern.unit != self._unit:
            return None
        step = self._bar if pattern.variant.part != "whole" else self._strong
        if len(changes) == 1:
            return int_where_whole(changes[0].start + (pattern.lead - changes[0].start) % step)
        start = int_where_whole(changes[0].end - pattern.variant.tokens[0].length)
        return start if start >= changes[0].start and (start - pattern.lead) % step == 0 else None

    def _allowed(self, variant: Variant, changes: Sequence[Change], after: int) -> bool:
        tempo = self.tune.tempo * variant.pace
        if not LOWEST_TEMPO <= tempo <= HIGHEST_TEMPO:
            return False
        if variant.condition is None:
            return True
        following = self.shape.changes[after : after + 2]
        return variant.condition(Around(changes, following, self.tune.key.tonic.pitch_class))


def _least(fits: Iterable[Fit]) -> list[Fit]:
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
