"""One way to write each chord: the fewest MusicXML degrees that give the same tones."""

from __future__ import annotations

from functools import lru_cache

from drillbox.music.chords import Chord, Degree
from drillbox.music.pitch import Name
from drillbox.music.tones import KINDS, Tones, intervals

# Of kinds that need equally many degrees the first wins: C7b9 is a seventh chord with an
# added b9, not a ninth chord with an altered one; C9#5 is a ninth chord with an altered fifth.
# The kind dominant-11th isn't among them: players read C11 without its third.
_ORDER = (
    "major", "minor", "suspended-fourth", "suspended-second",
    "dominant", "major-seventh", "minor-seventh", "major-sixth", "minor-sixth",
    "dominant-ninth", "major-ninth", "minor-ninth",
    "major-11th", "minor-11th",
    "dominant-13th", "major-13th", "minor-13th",
    "augmented", "diminished", "augmented-seventh", "half-diminished",
    "diminished-seventh", "major-minor", "power",
)  # fmt: skip
# These stand for exactly their own tones, never for a chord with degrees.
_EXACT = ("pedal", "Neapolitan", "Italian", "French", "German", "Tristan", "none")
_ALTERABLE = frozenset({5, 9, 11, 13})


def simplest(chord: Chord) -> Chord | None:
    """Return the chord's one form: same root, tones and bass, fewest degrees.

    Symbols are read to this form, and two chords with the same root, tones and bass have
    the same one. None where nothing sounds (kind ``none``). A bass that is the root is
    dropped. Kind ``other`` that states no tones beside its root stays as it is.
    """
    if chord.kind == "other" and intervals(chord) == KINDS["other"]:
        return Chord(chord.root, "other", (), _bass(chord.root, chord.bass))
    return chord_of(chord.root, intervals(chord), chord.bass)


def chord_of(root: Name, found: Tones, bass: Name | None = None) -> Chord | None:
    """Return the chord with these tones in its one form; None where there are none."""
    kind, degrees = _kind_of(tuple(sorted(found)))
    return None if kind == "none" else Chord(root, kind, degrees, _bass(root, bass))


def _bass(root: Name, bass: Name | None) -> Name | None:
    return None if bass == root else bass


@lru_cache(maxsize=1024)
def _kind_of(found: Tones) -> tuple[str, tuple[Degree, ...]]:
    for kind in _EXACT:
        if found == KINDS[kind]:
            return kind, ()
    wanted: dict[int, list[int]] = {}
    for number, alter in found:
        wanted.setdefault(number, []).append(alter)
    best: tuple[str, tuple[Degree, ...]] | None = None
    for kind in _ORDER:
        degrees = _degrees_over(dict(KINDS[kind]), wanted)
        if degrees is not None and (best is None or len(degrees) < len(best[1])):
            best = kind, degrees
    assert best is not None, "power has no third, sixth or seventh to be in the way"
    return best


def _degrees_over(own: dict[int, int], wanted: dict[int, list[int]]) -> tuple[Degree, ...] | None:
    """Return the degrees that turn a kind's tones into the ones asked for; None if it misleads.

    A kind misleads if its third, sixth, seventh or suspended tone isn't the one that sounds,
    or if its altered fifth isn't the only fifth (C7b5#5 isn't an augmented seventh).
    """
    degrees: list[Degree] = []
    for number in sorted(own.keys() | wanted.keys()):
        sounding = wanted.get(number, [])
        if number not in own:
            degrees += _additions(number, sounding)
        elif number == 5 and own[5] != 0 and sounding not in ([], [own[5]]):
            return None
        elif own[number] in sounding:
            degrees += _additions(number, [each for each in sounding if each != own[number]])
        elif not sounding:
            degrees.append(Degree("subtract", number))
        elif number in _ALTERABLE:
            degrees.append(Degree("alter", number, sounding[0] - own[number]))
            degrees += _additions(number, sounding[1:])
        elif number == 1:
            degrees += [Degree("subtract", 1), *_additions(1, sounding)]
        else:
            return None
    return tuple(degrees)


def _additions(number: int, alters: list[int]) -> list[Degree]:
    # An added seventh counts from the minor one: MusicXML 4.0, degree-alter.
    return [Degree("add", number, alter + (number == 7)) for alter in alters]
