"""The scale that common practice pairs with a chord in its function, as a table of rules."""

from __future__ import annotations

from dataclasses import dataclass

from drillbox.music.analysis.numerals import Function
from drillbox.music.chords import Chord, Family, bass_above, family_of, own_degrees
from drillbox.music.degrees import with_signs
from drillbox.music.keys import Third

SCALES: dict[str, tuple[int, ...]] = {
    "Ionian": (0, 2, 4, 5, 7, 9, 11),
    "Dorian": (0, 2, 3, 5, 7, 9, 10),
    "Phrygian": (0, 1, 3, 5, 7, 8, 10),
    "Lydian": (0, 2, 4, 6, 7, 9, 11),
    "Mixolydian": (0, 2, 4, 5, 7, 9, 10),
    "Aeolian": (0, 2, 3, 5, 7, 8, 10),
    "Locrian": (0, 1, 3, 5, 6, 8, 10),
    "Locrian natural 2": (0, 2, 3, 5, 6, 8, 10),
    "melodic minor": (0, 2, 3, 5, 7, 9, 11),
    "harmonic minor": (0, 2, 3, 5, 7, 8, 11),
    "Dorian b9": (0, 1, 3, 5, 7, 9, 10),
    "Lydian augmented": (0, 2, 4, 6, 8, 9, 11),
    "Lydian b7": (0, 2, 4, 6, 7, 9, 10),
    "Mixolydian b13": (0, 2, 4, 5, 7, 8, 10),
    "Mixolydian b9 b13": (0, 1, 4, 5, 7, 8, 10),
    "altered": (0, 1, 3, 4, 6, 8, 10),
    "whole tone": (0, 2, 4, 6, 8, 10),
    "half-whole diminished": (0, 1, 3, 4, 6, 7, 9, 10),
    "whole-half diminished": (0, 2, 3, 5, 6, 8, 9, 11),
}
"""Each scale in semitones above the chord's root. Phrygian dominant is Mixolydian b9 b13."""

NETTLES_GRAF = "Nettles & Graf, The Chord Scale Theory and Jazz Harmony, 1997"
PRACTICE = "common practice"


@dataclass(frozen=True, slots=True)
class Rule:
    """One row: a chord of this family in this role takes ``scale``, or one of ``also``.

    Empty fields match anything. ``roman`` is a whole numeral, ``aims`` the family of the
    chord that a dominant aims at, ``becomes_minor`` a dominant before the minor seventh on its
    own root, ``from_minor`` one after a half-diminished ii or a minor iv, ``says`` a degree
    (number, alteration) that the symbol states.
    """

    families: tuple[Family, ...]
    scale: str
    also: tuple[str, ...] = ()
    mode: Third | None = None
    role: str = ""
    roman: str = ""
    aims: tuple[Family, ...] = ()
    becomes_minor: bool | None = None
    from_minor: bool | None = None
    says: tuple[int, int] | None = None
    source: str = PRACTICE


@dataclass(frozen=True, slots=True)
class Pairing:
    """A chord's scale, other scales in use for it, and where the pairing is stated."""

    scale: str
    also: tuple[str, ...]
    source: str

    def text(self, *, ascii: bool = True) -> str:
        """Return ``Dorian`` or ``Mixolydian b13 (or altered)``."""
        text = self.scale + (f" (or {', '.join(self.also)})" if self.also else "")
        return with_signs(text, ascii=ascii)


_MINORS: tuple[Family, ...] = ("minor", "half-diminished", "diminished")
_DOMINANTS: tuple[Family, ...] = ("dominant", "major", "augmented")
_MAJORS: tuple[Family, ...] = ("major", "dominant", "augmented", "suspended")
_B9_B13, _HALF_WHOLE = "Mixolydian b9 b13", "half-whole diminished"
_SUSPENDED: tuple[Family, ...] = ("suspended",)
_SOFT: tuple[Family, ...] = ("half-diminished",)

RULES: tuple[Rule, ...] = (
    Rule(("dominant",), "Lydian b7", role="substitute", source=NETTLES_GRAF),
    Rule(("dominant",), "Lydian b7", role="backdoor"),
    Rule(_DOMINANTS, "Lydian b7", ("Mixolydian",), becomes_minor=True),
    Rule(_DOMINANTS, _B9_B13, ("altered",), role="dominant", from_minor=True),
    Rule(_DOMINANTS, _B9_B13, ("altered",), role="secondary", from_minor=True),
    Rule(_DOMINANTS, _B9_B13, ("altered",), role="dominant", aims=_MINORS),
    Rule(_DOMINANTS, _HALF_WHOLE, (_B9_B13,), role="dominant", aims=_MAJORS, says=(9, -1)),
    Rule(_DOMINANTS, _HALF_WHOLE, (_B9_B13,), role="secondary", aims=_MAJORS, says=(9, -1)),
    Rule(_DOMINANTS, "Mixolydian b13", (_B9_B13, "altered"), roman="V/ii", aims=("minor",),
         source=NETTLES_GRAF),
    Rule(_DOMINANTS, _B9_B13, ("altered",), roman="V/iii", source=NETTLES_GRAF),
    Rule(_DOMINANTS, _B9_B13, ("altered",), roman="V/vi", source=NETTLES_GRAF),
    Rule(_DOMINANTS, _B9_B13, ("altered",), role="secondary", aims=_MINORS),
    Rule(_DOMINANTS, "Mixolydian", role="secondary"),
    Rule(_SUSPENDED, "Phrygian", ("Mixolydian b13",), role="dominant", from_minor=True),
    Rule(_SUSPENDED, "Phrygian", ("Mixolydian b13",), role="secondary", from_minor=True),
    Rule(_SUSPENDED, "Phrygian", ("Mixolydian b13",), role="dominant", aims=_MINORS),
    Rule(_SUSPENDED, "Mixolydian b13", ("Phrygian",), roman="V/ii", aims=("minor",)),
    Rule(_SUSPENDED, "Phrygian", ("Mixolydian b13",), role="secondary", aims=_MINORS),
    Rule(_MINORS[:1], "Dorian", role="related ii"),
    Rule(_SOFT, "Locrian", ("Locrian natural 2",), role="related ii"),
    Rule(("major",), "Ionian", ("Lydian",), "major", roman="I"),
    Rule(("minor",), "Dorian", mode="major", roman="ii", source=NETTLES_GRAF),
    Rule(_SOFT, "Locrian", ("Locrian natural 2",), roman="ii"),
    Rule(("minor",), "Phrygian", mode="major", roman="iii"),
    Rule(("major",), "Lydian", mode="major", roman="IV"),
    Rule(_DOMINANTS, "Mixolydian", mode="major", roman="V", source=NETTLES_GRAF),
    Rule(("minor",), "Aeolian", mode="major", roman="vi"),
    Rule(_SOFT, "Locrian", mode="major", roman="vii"),
    Rule(_SOFT, "Locrian", ("Locrian natural 2",), "major", roman="#iv"),
    Rule(("minor",), "melodic minor", ("Dorian",), "major", roman="iv"),
    Rule(("minor",), "Dorian", ("melodic minor",), roman="iv"),
    Rule(("dominant",), "Mixolydian", roman="I7"),
    Rule(("dominant",), "Mixolydian", ("Lydian b7",), "minor", roman="IV7"),
    Rule(("dominant",), "Lydian b7", ("Mixolydian",), roman="IV7"),
    Rule(("minor",), "melodic minor", ("Aeolian", "Dorian", "harmonic minor"), "minor", roman="i"),
    Rule(("minor",), "melodic minor", ("Dorian", "harmonic minor"), roman="i"),
    Rule(("minor",), "Dorian", mode="minor", roman="ii"),
    Rule(("major",), "Ionian", ("Lydian augmented",), "minor", roman="bIII"),
    Rule(("minor",), "Phrygian", mode="minor", roman="v"),
    Rule(_DOMINANTS, _B9_B13, ("altered",), "minor", roman="V"),
    Rule(_SOFT, "Locrian natural 2", mode="minor", roman="vi"),
    Rule(("dominant",), "Mixolydian", ("Lydian b7",), "minor", roman="bVII7"),
    Rule(("major",), "Mixolydian", ("Lydian",), "minor", roman="bVII"),
    Rule(_SUSPENDED, "Ionian", ("Lydian",), "major", roman="I"),
    Rule(_SUSPENDED, "Lydian", ("Ionian",), "major", roman="IV"),
    Rule(_SUSPENDED, "Dorian", roman="ii"),
    Rule(_SUSPENDED, "Aeolian", ("Dorian",), roman="vi"),
    Rule(_SUSPENDED, "Dorian", ("Aeolian",), roman="i"),
    Rule(_SUSPENDED, "Dorian", roman="iv"),
    # Chords whose function isn't clear, or that are borrowed, go by their family.
    Rule(("major",), "Lydian", ("Ionian",)),
    Rule(("minor",), "Dorian", ("melodic minor",)),
    Rule(("dominant",), "Lydian b7", ("Mixolydian",)),
    Rule(("half-diminished",), "Locrian natural 2", ("Locrian",)),
    Rule(("diminished",), "whole-half diminished"),
    Rule(("augmented",), "whole tone"),
    Rule(_SUSPENDED, "Mixolydian"),
)  # fmt: skip
"""First match wins. What the symbol itself says comes before all of them: see ``paired_scale``."""

_SEVENTHS = ("Mixolydian", "Lydian b7", "Mixolydian b13", _B9_B13, _HALF_WHOLE, "whole tone",
             "altered")  # fmt: skip
_NEXT_BEST: dict[Family, tuple[str, ...]] = {
    "major": ("Ionian", "Lydian", *_SEVENTHS, "Lydian augmented"),
    "minor": ("Dorian", "Aeolian", "Phrygian", "melodic minor", "harmonic minor"),
    "dominant": _SEVENTHS,
    "suspended": ("Mixolydian", "Ionian", "Phrygian", "Dorian b9"),
    "augmented": ("whole tone", "Lydian augmented"),
    "diminished": ("whole-half diminished",),
    "half-diminished": ("Locrian", "Locrian natural 2"),
}  # fmt: skip


def scale_fits(scale: str, chord: Chord) -> bool:
    """Return whether a scale holds what the symbol says, and its bass.

    The plain fifth isn't asked for, nor a plain 11 over a major third (players leave them
    out); a #5 forbids the plain fifth.
    """
    tones, own = SCALES[scale], own_degrees(chord)
    if (5, 1) in own.values() and 7 in tones:
        return False
    unasked = {(5, 0), (11, 0)} if (3, 0) in own.values() else {(5, 0)}
    asked = {at for at, each in own.items() if each not in unasked}
    return asked | {bass_above(chord)} <= {*tones}


def paired_scale(chord: Chord, function: Function | None, mode: Third) -> Pairing | None:
    """Return the scale for a chord in its function, or None for an open chord such as C5.

    The first rule that matches names the scale; if the symbol asks for a note that it lacks
    (a #11, an altered fifth, a seventh in the bass), the rule's other scales are tried in turn,
    then the family's, so that an altered dominant takes the altered scale. If none fits, the
    rule stands.
    """
    kind = family_of(chord)
    rule = next((each for each in RULES if _matches(each, chord, function, mode)), None)
    if rule is None:
        return None
    order = (rule.scale, *rule.also, *_NEXT_BEST[kind])
    scale = next((each for each in order if scale_fits(each, chord)), rule.scale)
    also = tuple(e for e in (rule.scale, *rule.also) if e != scale and scale_fits(e, chord))
    stated = scale == rule.scale or scale in rule.also
    return Pairing(scale, also, rule.source if stated else PRACTICE)


def _matches(rule: Rule, chord: Chord, function: Function | None, mode: Third) -> bool:
    if family_of(chord) not in rule.families or rule.mode not in (None, mode):
        return False
    if rule.says and rule.says not in own_degrees(chord).values():
        return False
    named = rule.roman or rule.role or rule.aims or rule.becomes_minor is not None
    if function is None:
        return not named
    return (
        rule.roman in ("", function.roman)
        and rule.role in ("", function.role)
        and (not rule.aims or function.aims in rule.aims)
        and rule.becomes_minor in (None, function.becomes_minor)
        and rule.from_minor in (None, function.from_minor)
    )


def scale_semitones(chord: Chord, pairing: Pairing | None) -> frozenset[int]:
    """Return what counts as diatonic over a chord: its scale, its own tones and its bass.

    In semitones above the root; without a scale, the chord tones alone.
    """
    own = frozenset(own_degrees(chord))
    if chord.bass:
        own |= {bass_above(chord)}
    return own | frozenset(SCALES[pairing.scale]) if pairing else own
