"""What a phrase's shape may turn into under each kind of fit: one substitution at a time."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from drillbox.music.fits.kinds import Kind, Part
from drillbox.music.fits.shapes import Change, Quality, Time, int_where_whole


class Token(NamedTuple):
    """One change of a phrase: its root (a pitch class), quality and length in quarter notes."""

    root: int
    quality: Quality
    length: Time


class Around(NamedTuple):
    """A place in a tune, for a condition: its changes, and what comes after them."""

    changes: Sequence[Change]
    after: Sequence[Change]
    tonic: int

    def upward(self, index: int, ahead: int = 1) -> int | None:
        """Return the semitones from a change's root up to that of a later one."""
        later = self.from_(index)
        return (later[ahead].root - later[0].root) % 12 if len(later) > ahead else None

    def from_(self, index: int) -> Sequence[Change]:
        """Return the changes from one on, past the end of the place."""
        return [*self.changes[index:], *self.after]


Condition = Callable[[Around], bool]


class Variant(NamedTuple):
    """A shape to look for. The last token need not last longer than the line is heard in it.

    ``pace`` is how many beats of the phrase go by in one of the tune. ``begins`` is where in
    the phrase it begins, in the phrase's own quarter notes; ``condition`` has to hold where
    it is found.
    """

    kind: Kind
    tokens: tuple[Token, ...]
    part: Part = "whole"
    pace: Time = 1
    begins: Time = 0
    condition: Condition | None = None


def variants(tokens: tuple[Token, ...], *, double_time: bool) -> Iterator[Variant]:
    """Yield what a phrase's shape may look like in a tune, itself first.

    A phrase in double time is not doubled once more. A phrase of one chord has no pace.
    """
    yield Variant(Kind.EXACT, tokens)
    if len(tokens) > 1:
        if not double_time:
            yield _paced(tokens, Kind.DOUBLE_TIME, 2)
        yield _paced(tokens, Kind.HALF_TIME, Fraction(1, 2))
    for index, token in enumerate(tokens):
        if token.quality == "dominant":
            yield from _as_triad(tokens, index)
            yield from _two_five(tokens, index)
            yield from _diminished(tokens, index)
            yield from _tritone(tokens, index)
            yield from _backdoor(tokens, index)
        elif token.quality == "major":
            yield from _tonic(tokens, index)
        elif token.quality in {"minor", "minor-major", "half-diminished"}:
            yield from _two(tokens, index)
            yield from _one_for_three(tokens, index)
            yield from _minor_tonic(tokens, index)
    yield from _mode(tokens)


def parts(tokens: tuple[Token, ...]) -> Iterator[Variant]:
    """Yield the beginnings and ends of a phrase, the longest first.

    Two chords at least, with a dominant and its ii or its goal among them: else it isn't part
    that would be known again.
    """
    at: Time = 0
    for index, token in enumerate(tokens):
        if index and _cadence(tokens[index:]):
            yield Variant(Kind.EXACT, tokens[index:], "end", begins=at)
        at += token.length
    for index in range(len(tokens) - 1, 1, -1):
        if _cadence(tokens[:index]):
            yield Variant(Kind.EXACT, tokens[:index], "beginning")


def _cadence(tokens: Sequence[Token]) -> bool:
    return any(
        _up(tokens, i) == 5 and "dominant" in {tokens[i].quality, tokens[i + 1].quality}
        for i in range(len(tokens) - 1)
    )


def _paced(tokens: Sequence[Token], kind: Kind, pace: Time) -> Variant:
    slower = 1 / Fraction(pace)
    return Variant(
        kind,
        tuple(t._replace(length=int_where_whole(t.length * slower)) for t in tokens),
        pace=pace,
    )


def _up(tokens: Sequence[Token], index: int) -> int | None:
    """Return the semitones up from one root to the next, None at either end."""
    if not 0 <= index < len(tokens) - 1:
        return None
    return (tokens[index + 1].root - tokens[index].root) % 12


def _is(tokens: Sequence[Token], index: int, *qualities: Quality) -> bool:
    return 0 <= index < len(tokens) and tokens[index].quality in qualities


def _with(tokens: Sequence[Token], changed: dict[int, tuple[int, Quality]]) -> tuple[Token, ...]:
    """Return the tokens with some roots moved up and some qualities changed."""
    return tuple(
        Token((t.root + changed[i][0]) % 12, changed[i][1], t.length) if i in changed else t
        for i, t in enumerate(tokens)
    )


def _as_triad(tokens: Sequence[Token], index: int) -> Iterator[Variant]:
    """Yield a plain triad in the place of a V that resolves."""
    if _up(tokens, index) == 5:
        changed = _with(tokens, {index: (0, "major")})
        yield Variant(Kind.TENSIONS, changed, condition=lambda at: _is_five(at, index))


def _minor_tonic(tokens: Sequence[Token], index: int) -> Iterator[Variant]:
    """Yield i with a major seventh for one without, and the other way, after its V."""
    other: Quality = "minor" if _is(tokens, index, "minor-major") else "minor-major"
    if _resolves(tokens, index - 1) and not _is(tokens, index, "half-diminished"):
        yield Variant(
            Kind.TENSIONS,
            _with(tokens, {index: (0, other)}),
            condition=lambda at: not _is_two(at, index),
        )


def _is_five(at: Around, index: int) -> bool:
    return (at.changes[index].root - at.tonic) % 12 == 7


def _two_five(tokens: Sequence[Token], index: int) -> Iterator[Variant]:
    """Yield a ii-V as its V alone, and a V with its ii before it in half of its time."""
    five = tokens[index]
    if _is(tokens, index - 1, "minor", "half-diminished") and _up(tokens, index - 1) == 5:
        both = five._replace(length=tokens[index - 1].length + five.length)
        yield Variant(Kind.FIVE, (*tokens[: index - 1], both, *tokens[index + 1 :]))
        return
    half = int_where_whole(Fraction(five.length) / 2)
    after = tokens[index + 1].quality if _up(tokens, index) == 5 else "dominant"
    minor_goal = after in {"minor", "minor-major"}
    twos: tuple[Quality, ...] = ("minor", "half-diminished") if minor_goal else ("minor",)
    for quality in twos:
        two = Token((five.root + 7) % 12, quality, half)
        split = (two, five._replace(length=half))
        yield Variant(Kind.FIVE, (*tokens[:index], *split, *tokens[index + 1 :]))


def _diminished(tokens: Sequence[Token], index: int) -> Iterator[Variant]:
    """Yield the four diminished chords that are a V7b9 without its root, where it resolves."""
    if _up(tokens, index) == 5:
        for up in (4, 7, 10, 1):
            yield Variant(Kind.DIMINISHED, _with(tokens, {index: (up, "diminished")}))


def _tritone(tokens: Sequence[Token], index: int) -> Iterator[Variant]:
    """Yield a V as its substitute, and a substitute as its V, where either resolves."""
    falls = _up(tokens, index)
    if falls in {5, 11}:
        yield Variant(Kind.TRITONE, _with(tokens, {index: (6, "dominant")}))
    elif falls is None and _up(tokens, index - 1) == 5:  # a ii-V that stops there
        yield Variant(
            Kind.TRITONE,
            _with(tokens, {index: (6, "dominant")}),
            condition=lambda at: at.upward(len(at.changes) - 1) == 11,
        )


def _backdoor(tokens: Sequence[Token], index: int) -> Iterator[Variant]:
    """Yield iv-bVII7-I for ii-V-I and the other way, the first chord of it where there is one."""
    up = {5: 3, 2: -3}.get(_up(tokens, index) or 0)
    if up is None or not _is(tokens, index + 1, "major"):
        return
    changed: dict[int, tuple[int, Quality]] = {index: (up, "dominant")}
    if _up(tokens, index - 1) == 5 and _is(tokens, index - 1, "minor"):
        changed[index - 1] = (up, "minor")
    yield Variant(Kind.BACKDOOR, _with(tokens, changed))


def _tonic(tokens: Sequence[Token], index: int) -> Iterator[Variant]:
    """Yield iii or vi in the place of a I that ends a cadence, and iii of one before VI."""
    ends = index == len(tokens) - 1 and _resolves(tokens, index - 1)
    before_six = _up(tokens, index) == 9 and index == 0
    ways = (4, 9) if ends else (4,) if before_six else ()
    for up in ways:
        yield Variant(
            Kind.TONIC,
            _with(tokens, {index: (up, "minor")}),
            condition=lambda at: not _is_new_two(at, index),
        )


def _one_for_three(tokens: Sequence[Token], index: int) -> Iterator[Variant]:
    """Yield I in the place of a iii that begins iii-VI-ii-V."""
    roots = [_up(tokens, i) for i in range(index, index + 3)]
    if index == 0 and roots == [5, 5, 5] and _is(tokens, 2, "minor") and _is(tokens, 0, "minor"):
        yield Variant(Kind.TONIC, _with(tokens, {0: (-4, "major")}))


def _resolves(tokens: Sequence[Token], index: int) -> bool:
    return _is(tokens, index, "dominant") and _up(tokens, index) in {5, 11}


def _is_new_two(at: Around, index: int) -> bool:
    """Return whether a minor chord is the ii of a V that leads to another major key."""
    later = at.from_(index)
    return (
        len(later) > 2
        and later[1].quality == "dominant"
        and later[2].quality == "major"
        and at.upward(index) == 5
        and at.upward(index, 2) == 10
    )


def _two(tokens: Sequence[Token], index: int) -> Iterator[Variant]:
    """Yield ii for iiø and the other way, before a V that leads to a tonic of the phrase."""
    goal = index + 2
    if _up(tokens, index) == 5 == _up(tokens, index + 1) and _is(tokens, index + 1, "dominant"):
        if not _is(tokens, goal, "major", "minor", "minor-major"):
            return
        other: Quality = "minor" if _is(tokens, index, "half-diminished") else "half-diminished"
        yield Variant(Kind.TWO, _with(tokens, {index: (0, other)}))


def _mode(tokens: Sequence[Token]) -> Iterator[Variant]:
    """Yield a cadence in the other mode: every ii and the tonic, or no cadence at all."""
    last = len(tokens) - 1
    if not _resolves(tokens, last - 1) or _up(tokens, last - 1) != 5:
        return
    to_minor = _is(tokens, last, "major")
    if not to_minor and not _is(tokens, last, "minor", "minor-major"):
        return
    changed: dict[int, tuple[int, Quality]] = {}
    if last > 1:
        two: Quality = "minor" if to_minor else "half-diminished"
        if last != 2 or not _is(tokens, 0, two) or _up(tokens, 0) != 5:
            return
        changed[0] = (0, "half-diminished" if to_minor else "minor")
    homes: tuple[Quality, ...] = ("minor", "minor-major") if to_minor else ("major",)
    for home in homes:
        yield Variant(
            Kind.MODE,
            _with(tokens, {**changed, last: (0, home)}),
            condition=lambda at: not _is_two(at, last),
        )


def _is_two(at: Around, index: int) -> bool:
    """Return whether a chord is the ii of a V: I, or i with its major seventh, before IV7 isn't."""
    later = at.from_(index)
    return (
        len(later) > 1
        and later[0].quality in {"minor", "half-diminished"}
        and later[1].quality == "dominant"
        and at.upward(index) == 5
    )


def last_chord_needed(variant: Variant, spare: Time) -> Time:
    """Return how much of the variant's last chord has to be there, in the tune's quarter notes.

    ``spare`` is what the line leaves of the phrase's last chord, in the phrase's own; a
    beginning ends before that chord and needs its own last one whole.
    """
    last = variant.tokens[-1].length
    if variant.part == "beginning" or not spare:
        return last
    return max(0, int_where_whole(last - spare / Fraction(variant.pace)))
