"""Where phrases fit into a tune: an index of the phrases' shapes, looked up along its changes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from drillbox.music.charts import Bar
from drillbox.music.fits.fit import Fit, order, without_rivals
from drillbox.music.fits.judging import Sought, Verdict, Window, window_of
from drillbox.music.fits.kinds import Kind
from drillbox.music.fits.shapes import (
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


class _Member(NamedTuple):
    """A phrase among those of one shape, and how much of the last chord its line needs.

    ``tail`` is for how long it goes on after that, whatever sounds there.
    """

    sought: Sought
    need: Time
    tail: Time


class _Outcome(NamedTuple):
    """How a phrase lies at a place: what ``sought.verdict`` says, and the place's ticks.

    ``up`` is how many semitones above the root of the place's first change its written key is.
    """

    member: _Member
    ticks: Time
    up: int
    verdict: Verdict


class _Pattern:
    """A variant of a shape, and the phrases that have it."""

    def __init__(self, variant: Variant, unit: tuple[Time, bool]) -> None:
        self.variant, self.unit = variant, unit
        self.lead = int_where_whole(variant.begins / Fraction(variant.pace))
        self.members: list[_Member] = []
        self.tail: Time = 0  # the longest of them
        self._outcomes: dict[tuple[object, ...], list[_Outcome]] = {}
        self._whole: dict[tuple[object, ...], list[_Outcome]] = {}

    def add(self, sought: Sought) -> None:
        """Take a phrase of this shape in."""
        variant = self.variant
        tail: Time = 0
        if sought.tail and variant.part != "beginning":
            tail = int_where_whole(sought.tail / Fraction(variant.pace))
        self.members.append(_Member(sought, last_chord_needed(variant, sought.spare), tail))
        self.tail = max(self.tail, tail)

    def outcomes(self, window: Window, root: int, landing: Time) -> list[_Outcome]:
        """Return what comes of its phrases at a place whose first change has a root.

        ``landing`` is how long after its beginning the last change comes. Places that sound
        alike are judged once.
        """
        if window.key not in self._outcomes:
            found = self._outcomes[window.key] = []
            for member in self.members:
                up = root - self.variant.tokens[0].root - member.sought.root
                length = int_where_whole(landing + member.need)
                if length <= window.length and (
                    verdict := member.sought.verdict(self.variant, window, length, up % 12)
                ):
                    found.append(_Outcome(member, ticks(length), up - root, verdict))
        return self._outcomes[window.key]

    def with_tails(self, window: Window, root: int, landing: Time, after: Window) -> list[_Outcome]:
        """Return the same with what the lines play ``after`` their last chord's time."""
        key = (window.key, (after.root - root) % 12, after.key)
        if key not in self._whole:
            length = int_where_whole(landing + self.variant.tokens[-1].length)
            judged = (
                self._whole_of(each, root, after, length)
                for each in self.outcomes(window, root, landing)
            )
            self._whole[key] = [each for each in judged if each]
        return self._whole[key]

    def _whole_of(
        self, outcome: _Outcome, root: int, after: Window, length: Time
    ) -> _Outcome | None:
        """Return an outcome with its tail; None where that has no place, or rubs."""
        member, until, up, verdict = outcome
        if not member.tail:
            return outcome
        if member.tail > after.length:  # the tune ends before
            return None
        there = (root + up) % 12
        whole = member.sought.with_past(verdict, self.variant, after, length, there)
        return whole and _Outcome(member, until + ticks(member.tail), up, whole)


_Key = tuple[object, ...]
# Phrases with all of this in common stand in the same places: changes from the first root up,
# when the first one begins, double time or not, and the meter's strong beats.
_Common = tuple[tuple[Token, ...], Time, bool, tuple[Time, bool]]


class Phrases:
    """Phrases ready to be looked for in tunes; ``parts`` looks for beginnings and ends as well.

    Every shape of a phrase is kept under what doesn't change with the key: its qualities, the
    intervals between its roots and the lengths of its inner chords. A tune then costs a walk
    along its changes, however many phrases and keys there are.
    """

    def __init__(self, phrases: Iterable[tuple[int, Phrase]], *, parts: bool = False) -> None:
        self._patterns: dict[_Key, list[_Pattern]] = {}
        self._begun: set[_Key] = set()
        self._longest: Time = 0  # of the variants, without their tails
        self._tail: Time = 0  # the longest
        known: dict[_Common, list[_Pattern]] = {}
        for number, phrase in phrases:
            sought = Sought(number, phrase)
            common = _common(sought)
            if common is None:
                continue
            if common not in known:
                known[common] = self._file(common, with_parts=parts)
            for pattern in known[common]:
                if phrase.line or pattern.variant.kind not in _NEED_A_LINE:
                    pattern.add(sought)
                    self._tail = max(self._tail, pattern.tail)

    def _file(self, common: _Common, *, with_parts: bool) -> list[_Pattern]:
        """Keep every variant of a shape under its key; return them."""
        tokens, first, double_time, unit = common
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
        return sorted(self.unsorted(tune), key=order)

    def unsorted(self, tune: Tune) -> list[Fit]:
        """Return every place as ``fits`` does, in no order."""
        bar, (first, end) = int_where_whole(tune.chart.meter.bar), tune.chorus
        found = list(self._in(tune, tune.chart.bars))
        reach = min(end - first, -int(-(self._longest + self._tail) // bar))
        start, seam = ticks(bar * (end - reach)), bar * reach
        bars = tune.chart.bars
        around = (*bars[end - reach : end], *bars[first : first + reach])
        over = [
            each._replace(begins=each.begins + start, ends=each.ends + start, over_seam=True)
            for each in self._in(tune, around, seam)
            if each.begins < ticks(seam) < each.ends
        ]
        return [*without_rivals(found), *without_rivals(over)]

    def _in(self, tune: Tune, bars: Sequence[Bar], seam: Time | None = None) -> Iterator[Fit]:
        """Yield the places in bars; those that can't lie across a ``seam`` are left out."""
        shape = shape_of(bars, tune.chart.meter)
        walk = _TuneWalk(tune, shape)
        for at, change in enumerate(shape.changes):
            if seam is not None and change.start >= seam:
                return
            for count, key in enumerate(_keys(shape.changes[at:]), start=1):
                if key not in self._begun:
                    break
                if seam is None or shape.changes[at + count - 1].end + self._tail > seam:
                    for pattern in self._patterns.get(key, ()):
                        yield from walk.fits(pattern, at, count)


def _common(sought: Sought) -> _Common | None:
    """Return what decides in which places a phrase stands; None where no chord sounds in it."""
    changes = sought.sounding
    if not changes:
        return None
    root, meter = changes[0].root, sought.phrase.chart.meter
    tokens = tuple(Token((each.root - root) % 12, each.quality, each.length) for each in changes)
    unit = (strong_beat_distance(meter), meter.unit >= 8)
    return tokens, changes[0].start, sought.phrase.double_time, unit


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


class _TuneWalk:
    """A walk along a tune's changes."""

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
        if pattern.tail:
            past = int_where_whole(start + landing + variant.tokens[-1].length)
            after = self._window(past, min(self.shape.end, int_where_whole(past + pattern.tail)))
            found = pattern.with_tails(window, root, landing, after)
        else:
            found = pattern.outcomes(window, root, landing)
        pace, part, begins = variant.pace, variant.part, ticks(start)
        for member, length, up, (kind, clashes, _) in found:
            number, ends = member.sought.number, begins + length
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
