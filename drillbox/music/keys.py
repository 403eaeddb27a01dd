"""The keys, twelve to each mode, and the orders in which players visit them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, get_args

from drillbox.errors import BadInput
from drillbox.music.pitch import LETTERS, MAJOR_SCALE, NAME, Interval, Name, parse_name

Mode = Literal["major", "minor", "Dorian", "Phrygian", "Lydian", "Mixolydian", "Locrian"]
Third = Literal["major", "minor"]

# The degree of the major scale with the same signature on which each mode begins, from 0.
_BEGINS: dict[Mode, int] = {
    "major": 0, "Dorian": 1, "Phrygian": 2, "Lydian": 3, "Mixolydian": 4, "minor": 5, "Locrian": 6,
}  # fmt: skip


MODES: tuple[Mode, ...] = get_args(Mode)
"""All modes: major, minor, then the church modes."""


def _turned(degree: int) -> tuple[int, ...]:
    return tuple(sorted((each - MAJOR_SCALE[degree]) % 12 for each in MAJOR_SCALE))


SCALES: dict[Mode, tuple[int, ...]] = {mode: _turned(begins) for mode, begins in _BEGINS.items()}
"""Semitones of the seven degrees above the tonic; in minor those of the signature."""

_MOST_ACCIDENTALS = 7  # a key signature holds no more


@dataclass(frozen=True, slots=True)
class Key:
    """A key: its spelled tonic and its mode."""

    tonic: Name
    mode: Mode = "major"

    @property
    def fifths(self) -> int:
        """Return the signature: sharps count up from 0, flats count down."""
        return self.signed_like.fifths

    @property
    def signed_like(self) -> Name:
        """Return the tonic of the major key with the same signature."""
        return self.tonic.up(-_above(self.mode))

    def relative(self, mode: Mode) -> Key:
        """Return the key of a mode with the same signature."""
        return Key(self.signed_like.up(_above(mode)), mode)

    @property
    def third(self) -> Third:
        """Return the third of the tonic chord, which tells modes like major from the others."""
        return "major" if 4 in SCALES[self.mode] else "minor"

    @property
    def church(self) -> bool:
        """Return whether the key is a church mode, neither major nor minor."""
        return self.mode not in ("major", "minor")

    @property
    def number(self) -> int:
        """Return what makes two keys the same however spelled.

        0 to 11 are major, 12 to 23 minor, and twelve more each church mode.
        """
        return self.tonic.pitch_class + 12 * MODES.index(self.mode)

    def text(self, *, ascii: bool = True) -> str:
        """Return the short name, ``Bb``, ``Cm`` or ``D Dorian``."""
        suffix = {"major": "", "minor": "m"}.get(self.mode, f" {self.mode}")
        return self.tonic.text(ascii=ascii) + suffix

    def up(self, interval: Interval) -> Key:
        """Return the key an interval away, its tonic spelled by the interval's steps."""
        return Key(self.tonic.up(interval), self.mode)

    def interval_to(self, other: Key) -> Interval:
        """Return the ascending interval from this tonic to the other, within an octave."""
        return self.tonic.interval_to(other.tonic)


def _above(mode: Mode) -> Interval:
    """Return how far a mode's tonic lies above that of the major key with its signature."""
    return Interval(_BEGINS[mode], MAJOR_SCALE[_BEGINS[mode]])


@dataclass(frozen=True, slots=True)
class Spelling:
    """The player's choice where two spellings of a key are equally common."""

    gb: Literal["Gb", "F#"] = "Gb"
    ebm: Literal["Ebm", "D#m"] = "Ebm"


USUAL = Spelling()
_OTHER = Spelling("F#", "D#m")


def _row(tonics: str, mode: Mode) -> tuple[Key, ...]:
    return tuple(Key(parse_name(tonic), mode) for tonic in tonics.split())


# Round the circle of fourths from C, as players write them: Db not C#, B not Cb, G#m not Abm.
MAJOR = _row("C F Bb Eb Ab Db Gb B E A D G", "major")
MINOR = _row("C F Bb Eb G# C# F# B E A D G", "minor")

ORDERS: dict[str, str] = {
    "fourths": "around by fourths, one more flat each time",
    "fifths": "around by fifths, one more sharp each time",
    "semitones-up": "up by semitones",
    "semitones-down": "down by semitones",
    "whole-tones": "up by whole tones: six keys, then the six between",
    "minor-thirds": "up by minor thirds: three groups of four",
    "own": "your own order",
}
_STEPS = {"fourths": 5, "fifths": 7, "semitones-up": 1, "semitones-down": 11}
_GROUPS = {"whole-tones": (2, 6), "minor-thirds": (3, 4)}  # semitones a step, keys a group

MODE_WORDS: dict[str, Mode] = {
    "": "major", "maj": "major", "major": "major", "ion": "major", "ionian": "major",
    "m": "minor", "mi": "minor", "min": "minor", "minor": "minor", "-": "minor", "aeo": "minor",
    "aeolian": "minor",
}  # fmt: skip
MODE_WORDS |= {name: mode for mode in _BEGINS for name in (mode[:3].lower(), mode.lower())}
"""What players and files write for each mode: short, or in full."""


def twelve(mode: Mode, spelling: Spelling = USUAL) -> tuple[Key, ...]:
    """Return the twelve keys of a mode by fourths from C, spelled as the player has chosen.

    Those of a church mode have the signatures of the twelve major keys.
    """
    if mode not in ("major", "minor"):
        tonics = [_white(key.tonic.up(_above(mode))) for key in twelve("major", spelling)]
        by_fourths = sorted(tonics, key=lambda tonic: tonic.pitch_class * 5 % 12)
        return tuple(Key(tonic, mode) for tonic in by_fourths)
    chosen = parse_name(spelling.gb if mode == "major" else spelling.ebm.rstrip("m"))
    keys = MAJOR if mode == "major" else MINOR
    return tuple(
        Key(chosen, mode) if key.tonic.pitch_class == chosen.pitch_class else key for key in keys
    )


def _white(tonic: Name) -> Name:
    """Return the plain name of a white key: B Lydian rather than Cb Lydian."""
    names = (Name(letter, 0) for letter in LETTERS)
    return next((each for each in names if each.pitch_class == tonic.pitch_class), tonic)


def conventional_key(key: Key, spelling: Spelling = USUAL) -> Key:
    """Return the key of the twelve that sounds like this one."""
    return _by_pitch_class(key.mode, spelling)[key.tonic.pitch_class]


@lru_cache(maxsize=256)
def transposed_key(key: Key, interval: Interval) -> tuple[Key, Interval]:
    """Return the key an interval away as players write it, and the interval that leads there.

    Both differ from the strict ones by a letter where nobody writes that tonic: written A flat
    of an alto sax sounds in B, not in C flat.
    """
    strict = key.up(interval)
    if strict == key or strict in (*twelve(key.mode), *twelve(key.mode, _OTHER)):
        return strict, interval
    written = conventional_key(strict)
    return written, key.interval_to(written).spanning(interval.semitones)


def key_before(key: Key, interval: Interval) -> Key:
    """Return the key from which an interval of ``transposed_key`` leads to this one.

    Players write it: no signature holds the strict one where this isn't the key that the letter
    was changed for.
    """
    strict = key.up(-interval)
    return strict if is_signed(strict) else conventional_key(strict)


def in_order(
    start: Key, order: str, spelling: Spelling = USUAL, own: Sequence[Key] = ()
) -> tuple[Key, ...]:
    """Return all twelve keys of the start's mode in an order of ``ORDERS``, the start first.

    The start keeps its own spelling; the other eleven are spelled as players write them.
    The player's own order serves both modes: it is read by tonic, entered at the start and
    followed round; keys that it leaves out come last, by fourths. Raise BadInput for an
    unknown order, or for ``own`` with nothing in it or a key twice.
    """
    classes = _classes(start.tonic.pitch_class, order, own)
    table = _by_pitch_class(start.mode, spelling)
    return (start, *(table[each] for each in classes[1:]))


def _by_pitch_class(mode: Mode, spelling: Spelling) -> dict[int, Key]:
    return {key.tonic.pitch_class: key for key in twelve(mode, spelling)}


def _classes(start: int, order: str, own: Sequence[Key]) -> list[int]:
    """Return the twelve tonics as pitch classes, the start first."""
    if order in _STEPS:
        return [(start + _STEPS[order] * i) % 12 for i in range(12)]
    if order in _GROUPS:
        step, size = _GROUPS[order]
        return [(start + i // size + step * (i % size)) % 12 for i in range(12)]
    if order == "own":
        return _own_classes(start, [key.tonic.pitch_class for key in own])
    raise BadInput(f"{order!r} isn't an order of keys", f"Choose one of {', '.join(ORDERS)}.")


def _own_classes(start: int, own: list[int]) -> list[int]:
    if not own or len(set(own)) < len(own):
        wrong = "names a key twice" if own else "is empty"
        raise BadInput(f"Your own order of keys {wrong}", "List each key once, such as C F Bb Eb.")
    turn = own.index(start) if start in own else 0
    wished = [start, *own[turn:], *own[:turn], *_classes(start, "fourths", ())]
    return list(dict.fromkeys(wished))


def parse_key(text: str) -> Key:
    """Read a key such as ``Bb``, ``Bbm``, ``B♭ minor``, ``F# major`` or ``D Dorian``.

    Any tonic whose signature has at most seven accidentals is read and kept as spelled.
    Raise BadInput, naming near keys, for anything else.
    """
    words = re.sub(r"(?<=^[A-Z])[\s-]*(flat|sharp)\b", lambda m: "b#"[m[1].lower() == "sharp"],
                   text.strip(), flags=re.IGNORECASE)  # fmt: skip
    match = re.fullmatch(rf"({NAME.pattern})\s*(.*)", words[:1].upper() + words[1:], re.DOTALL)
    rest = match[4].strip() if match else ""
    mode = "major" if rest == "M" else MODE_WORDS.get(rest.lower())
    if not match or mode is None:
        raise BadInput(f"{_shown(text)} isn't a key", _remedy(words))
    return signed_key(parse_name(match[1]), mode)


def is_signed(key: Key) -> bool:
    """Return whether a signature holds the accidentals of a key."""
    return abs(key.fifths) <= _MOST_ACCIDENTALS


def signed_key(tonic: Name, mode: Mode) -> Key:
    """Return a key; raise BadInput where no signature holds its accidentals."""
    key = Key(tonic, mode)
    if not is_signed(key):
        raise BadInput(
            f"{key.text()} would need more accidentals than a key signature holds",
            f"Near: {conventional_key(key).text()}.",
        )
    return key


def key_text(key: Key) -> str:
    """Return the text of a key that ``parse_key`` reads again; raise BadInput where it wouldn't."""
    return signed_key(key.tonic, key.mode).text()


def _shown(text: str) -> str:
    return repr(text if len(text) <= 20 else text[:20] + "…")


def _remedy(text: str) -> str:
    from difflib import get_close_matches  # only a refusal needs it

    names = {key.text().lower(): key.text() for mode in MODES for key in twelve(mode)}
    near = get_close_matches(text[:20].lower(), names, n=3, cutoff=0.5)
    listed = ", ".join(names[each] for each in near)
    return f"Near: {listed}." if near else "Write it as C, Bb, F#m or D Dorian."
