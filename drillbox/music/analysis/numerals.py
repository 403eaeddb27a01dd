"""Chord functions as values: numerals in the key, and dominants with where they lead.

First come the tables of what needs no context, then the chart that loops, in which each dominant
leads somewhere, or would lead.
"""

from __future__ import annotations

from dataclasses import dataclass

from drillbox.music.chords import Chord, Family, family_of, intervals, is_dominant, is_written
from drillbox.music.degrees import with_signs
from drillbox.music.keys import Key, Third, conventional_key
from drillbox.music.pitch import FIFTH, LETTER_DOWN, LETTER_UP, Interval, interval_of

NUMERALS = ("I", "bII", "II", "bIII", "III", "IV", "bV", "V", "bVI", "VI", "bVII", "VII")

# (mode, semitones above the tonic, family) → numeral, for chords that need no context.
PLAIN: dict[tuple[Third, int, Family], str] = {
    ("major", 0, "major"): "I", ("major", 2, "minor"): "ii", ("major", 4, "minor"): "iii",
    ("major", 5, "major"): "IV", ("major", 7, "major"): "V", ("major", 9, "minor"): "vi",
    ("major", 2, "half-diminished"): "ii", ("major", 11, "diminished"): "viidim",
    ("minor", 0, "minor"): "i", ("minor", 2, "half-diminished"): "ii", ("minor", 2, "minor"): "ii",
    ("minor", 3, "major"): "bIII", ("minor", 5, "minor"): "iv", ("minor", 7, "major"): "V",
    ("minor", 8, "major"): "bVI", ("minor", 9, "half-diminished"): "vi",
    ("minor", 10, "major"): "bVII", ("minor", 11, "diminished"): "viidim",
}  # fmt: skip
# Borrowed or blurred: these give way to a ii of the dominant that follows.
BORROWED: dict[tuple[Third, int, Family], str] = {
    ("major", 0, "minor"): "i", ("major", 5, "minor"): "iv",
    ("major", 11, "half-diminished"): "vii", ("major", 6, "half-diminished"): "#iv",
    ("major", 1, "major"): "bII", ("major", 3, "major"): "bIII", ("major", 8, "major"): "bVI",
    ("major", 10, "major"): "bVII",
    ("minor", 7, "minor"): "v", ("minor", 0, "major"): "I", ("minor", 1, "major"): "bII",
    ("minor", 5, "major"): "IV",
    ("major", 0, "suspended"): "I", ("minor", 0, "suspended"): "i",
    ("major", 5, "suspended"): "IV", ("minor", 5, "suspended"): "iv",
    ("major", 0, "augmented"): "I", ("minor", 3, "augmented"): "bIII",
}  # fmt: skip
# A dominant that doesn't resolve: the chord of the key that it would lead to, and its family.
EXPECTED: dict[tuple[Third, int], tuple[str, Family]] = {
    ("major", 0): ("IV", "major"), ("minor", 0): ("iv", "minor"),
    ("major", 2): ("V", "dominant"), ("major", 4): ("vi", "minor"), ("major", 9): ("ii", "minor"),
    ("major", 11): ("iii", "minor"), ("minor", 2): ("V", "dominant"),
    ("minor", 3): ("bVI", "major"),
}  # fmt: skip
UNRESOLVED: dict[tuple[Third, int], str] = {
    ("major", 0): "I7", ("minor", 0): "I7", ("major", 5): "IV7", ("minor", 5): "IV7",
    ("minor", 10): "bVII7",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Function:
    """A chord's function, the same in every key.

    ``roman`` is the numeral in ASCII ("ii", "V/ii", "sub V"; empty where only the turnaround
    is clear). ``role`` is one of: plain, borrowed, dominant, secondary, substitute, backdoor,
    related ii, diminished. ``aims`` is the family of the chord that a dominant leads to, a
    fifth below; ``replaces`` the root of the dominant that a substitute stands for, above the
    tonic. ``from_minor``: a half-diminished ii or a minor iv of its goal stands before it.
    ``local``: the root above the tonic, where ii and V have made the chord the tonic of a
    passage.
    """

    roman: str
    role: str = "plain"
    note: str = ""
    aims: Family | None = None
    replaces: Interval | None = None
    becomes_minor: bool = False
    turnaround: bool = False
    from_minor: bool = False
    local: Interval | None = None

    def text(self, key: Key, *, ascii: bool = True) -> str:
        """Return the function in a key: ``V/ii``, ``♯iv°``, ``sub V (for G7)``, ``turnaround``."""
        parts = [self.roman if ascii else with_signs(self.roman, ascii=False).replace("dim", "°")]
        if self.replaces:
            root = key.tonic.up(self.replaces)
            ways = (root, root.up(LETTER_UP), root.up(LETTER_DOWN))
            written = next((each for each in ways if is_written(each)), root)
            parts.append(f"(for {written.text(ascii=ascii)}7)")
        elif self.note:
            parts.append(f"({self.note})")
        elif self.local:
            mode: Third = "minor" if self.roman.lstrip("b#").islower() else "major"
            local = conventional_key(Key(key.tonic.up(self.local), mode))
            dash = "-" if ascii else "–"
            parts.append(f"(ii{dash}V{dash}I in {local.text(ascii=ascii)})")
        text = " ".join(part for part in parts if part)
        if not self.turnaround:
            return text
        return f"turnaround, {text}" if text else "turnaround"


_MINORS = ("minor", "half-diminished", "diminished")


@dataclass(frozen=True, slots=True)
class Loop:
    """The chords of a chart, each once where it is held, and the key that they are in."""

    chords: tuple[Chord, ...]
    key: Key

    def at(self, index: int) -> Chord:
        """Return a chord; the one after the last is the first."""
        return self.chords[index % len(self.chords)]

    def has_tonic(self, *families: Family) -> bool:
        """Return whether the tonic stands anywhere as a chord of one of these families."""
        return any(self.degree(each) == 0 and family_of(each) in families for each in self.chords)

    def degree(self, chord: Chord) -> int:
        """Return how far a chord's root lies above the tonic, in semitones."""
        return (chord.root.pitch_class - self.key.tonic.pitch_class) % 12

    def place(self, chord: Chord) -> tuple[Third, int, Family]:
        """Return what ``PLAIN`` and ``BORROWED`` know a chord by."""
        return self.key.third, self.degree(chord), family_of(chord)

    def roman(self, chord: Chord) -> str:
        """Return a chord's numeral, small where it is minor: bV, but #iv (common practice)."""
        numeral = NUMERALS[self.degree(chord)]
        if not _is_minor(chord):
            return numeral
        return "#iv" if numeral == "bV" else numeral.lower()


def root_motion(chord: Chord, following: Chord) -> int:
    """Return the way up from one root to the next; 5 is a fourth up, a fifth down."""
    return (following.root.pitch_class - chord.root.pitch_class) % 12


def _is_minor(chord: Chord) -> bool:
    return family_of(chord) in _MINORS


def _may_lead(loop: Loop, index: int) -> bool:
    """Return whether a chord can be a dominant: by its sound, or a triad foreign to the key.

    A suspended triad can where what it resolves to on its own root can; without that not on the
    tonic or the fourth, where it is the chord of the key.
    """
    chord = loop.at(index)
    kind, degree = family_of(chord), loop.degree(chord)
    if kind in ("dominant", "augmented"):
        return True
    if kind == "suspended":
        if (7, -1) in intervals(chord) or degree == 7:
            return chord.kind != "suspended-second"
        if resolves_on_its_root(loop, index):
            return _may_lead(loop, index + 1)
        return chord.kind != "suspended-second" and degree not in (0, 5)
    place = loop.place(chord)
    return chord.kind == "major" and place not in PLAIN and place not in BORROWED


def resolves_on_its_root(loop: Loop, index: int) -> bool:
    """Return whether a chord is suspended and the next one, on the same root, isn't."""
    chord, after = loop.at(index), loop.at(index + 1)
    suspended = family_of(chord) == "suspended" != family_of(after)
    return suspended and root_motion(chord, after) == 0


def _target(loop: Loop, index: int) -> tuple[Chord, int, bool]:
    """Return the chord that a dominant leads to, its index, and whether a minor seventh on the
    dominant's own root comes first.

    Chords on its own root are passed over (G7sus G7, D7 Dm7), but for one at rest there (F7 Fmaj7
    round the loop), and so are the ii that comes between a dominant and its own return (A7 Em7
    A7) and its substitute on the way to the same goal (D7 Ab7 G7). A suspended dominant with a
    ninth a whole tone below stands for the ii in it: A7 Dm7/G, which is G9sus4.
    """
    chord = loop.at(index)
    becomes_minor = False
    ahead = index + 1
    while ahead < index + len(loop.chords):
        after = loop.at(ahead)
        if root_motion(chord, after) == 0 and not _is_at_rest(after):
            becomes_minor = becomes_minor or family_of(after) == "minor"
        elif not _stands_between(chord, after, loop.at(ahead + 1)):
            return _ii_within(chord, after) or after, ahead, becomes_minor
        ahead += 1
    return chord, index, becomes_minor


def _stands_between(chord: Chord, after: Chord, following: Chord) -> bool:
    """Return whether what comes after a dominant is the ii of its return, or its substitute."""
    if root_motion(chord, after) == 6 and family_of(after) == "dominant":
        return root_motion(after, following) in (5, 11)
    returns = root_motion(chord, following) == 0 and family_of(following) == "dominant"
    return returns and root_motion(chord, after) == 7 and _is_minor(after)


def _is_at_rest(chord: Chord) -> bool:
    """Return whether a chord is major with a sixth or a major seventh."""
    coloured = any(number in (6, 7) for number, _ in intervals(chord))
    return coloured and family_of(chord) == "major"


def _ii_within(chord: Chord, after: Chord) -> Chord | None:
    """Return the ii in a suspended dominant, where a dominant a fifth above that stands before."""
    kinds = {(9, 0): "minor-seventh", (9, -1): "half-diminished"}
    kind = next((kind for ninth, kind in kinds.items() if ninth in intervals(after)), None)
    if kind is None or root_motion(chord, after) != 10 or family_of(after) != "suspended":
        return None
    return Chord(after.root.up(FIFTH), kind) if is_dominant(after) else None


def dominant_at(loop: Loop, index: int) -> Function | None:
    """Return what a chord is as a dominant, None where it isn't one or it isn't clear which."""
    chord = loop.at(index)
    if not _may_lead(loop, index):
        return None
    degree, (target, there, becomes_minor) = loop.degree(chord), _target(loop, index)
    aims, falls = family_of(target), root_motion(chord, target)
    from_minor = _comes_from_minor(loop, index)
    prepared = has_ii(loop, index)
    if degree == 7:
        goal = aims if falls == 5 else None
        becomes_minor = becomes_minor and not prepared  # after its ii it is heard as the V
        return Function("V", "dominant", "", goal, None, becomes_minor, from_minor=from_minor)
    third = "major" if becomes_minor else loop.key.third  # C7 Cm7 F7 tells of no other tonic
    blues = not (loop.has_tonic("major", third) or prepared or family_of(chord) == "augmented")
    at_home = degree == 0 and falls in (5, 11) and aims == "dominant" and blues
    iv = degree == 5 and becomes_minor and not (prepared and loop.key.third == "major")
    if at_home or (iv and family_of(chord) == "dominant"):
        # The blues, whose home is a dominant and leads neither to IV7 nor to VII7; and IV7 that
        # becomes iv7.
        return Function(UNRESOLVED[loop.key.third, degree], becomes_minor=iv)
    resolves_to_iv = iv and family_of(chord) == "suspended"  # it goes by what stands on its root
    if (falls == 5 and not resolves_to_iv) or (becomes_minor and degree == 2):
        roman, aims = (loop.roman(target), aims) if falls == 5 else ("V", "dominant")
        return Function(
            f"V/{roman}", "secondary", "", aims, None, becomes_minor, from_minor=from_minor
        )
    if family_of(chord) != "dominant":
        return None
    found = _before_substitute(loop, index, there)
    if not (found or (prepared and becomes_minor)):  # after its ii it goes by that
        found = _substitute(loop, falls, target)
    return found or _unresolved(loop, index, target)


def _comes_from_minor(loop: Loop, index: int) -> bool:
    """Return whether a half-diminished ii or a minor iv of its goal stands before a dominant."""
    before = _before(loop, index)
    kind, falls = family_of(before), root_motion(before, loop.at(index))
    return (kind, falls) in (("half-diminished", 5), ("minor", 2))


def _before(loop: Loop, index: int) -> Chord:
    """Return the chord before the one at a place and those on its root: Dm7 of Dm7 G7sus4 G7."""
    back = 1
    while back < len(loop.chords) and root_motion(loop.at(index - back), loop.at(index)) == 0:
        back += 1
    return loop.at(index - back)


_TWOS = ("minor", "half-diminished")


def has_ii(loop: Loop, index: int) -> bool:
    """Return whether the ii of a dominant stands before it."""
    before = loop.at(index - 1)
    return family_of(before) in _TWOS and root_motion(before, loop.at(index)) == 5


def _before_substitute(loop: Loop, index: int, there: int) -> Function | None:
    """A dominant in the key may lead to the substitute of its goal: D7 Db7 Cmaj7 for D7 G7.

    So chains of dominants in which every second one is replaced go by the others (common
    practice): A7 Ab7 G7 is V/II, sub V/V, V.
    """
    chord, target, mode = loop.at(index), loop.at(there), loop.key.third
    falls = {root_motion(chord, target), root_motion(target, loop.at(there + 1))} == {11}
    own, degree = loop.degree(chord), loop.degree(target)
    replaced = degree != 7 and (mode, degree) not in EXPECTED
    if not (falls and replaced and (mode, own) in EXPECTED and family_of(target) == "dominant"):
        return None
    goal = NUMERALS[(own + 5) % 12]
    from_minor = _comes_from_minor(loop, index)
    return Function(f"V/{goal}", "secondary", aims="dominant", from_minor=from_minor)


def _substitute(loop: Loop, falls: int, target: Chord) -> Function | None:
    """A dominant a semitone above its goal stands for the one a tritone away."""
    if falls != 11:
        return None
    home = loop.degree(target)
    replaced = (home + 7) % 12
    roman = "sub V" if home == 0 else f"sub V/{loop.roman(target)}"
    return Function(
        roman,
        "substitute",
        aims=family_of(target),
        replaces=interval_of(replaced),
    )


def _unresolved(loop: Loop, index: int, target: Chord) -> Function | None:
    """A dominant that doesn't fall a fifth: at home, or named by where it would have led.

    The substitute of V may lead to iii or vi, which stand for I, or back to its ii: Dm7 Db7 Em7,
    Dm7 Db7 Dm7.
    Deceptive, where it steps up a semitone or a whole tone as V does to vi; a side-step,
    where its ii and it stand a semitone beside another ii and V.
    """
    chord = loop.at(index)
    degree, mode, home = loop.degree(chord), loop.key.third, loop.degree(target)
    if mode == "major" and degree == 10 and home in (0, 4):
        return Function("bVII7", "backdoor", note="backdoor")
    if degree == 1 and not has_ii(loop, index):
        beside = (_before(loop, index), target)
        back = all(loop.degree(each) == 2 and family_of(each) in _TWOS for each in beside)
        if back or (mode == "major" and home in (4, 9)):
            return Function("sub V", "substitute", "deceptive", mode, FIFTH)
    if (mode, degree) in UNRESOLVED and not (degree == 0 and has_ii(loop, index)):
        return Function(UNRESOLVED[mode, degree])
    note = "deceptive" if root_motion(chord, target) in (1, 2) else "unresolved"
    if has_ii(loop, index):
        note = "side-step" if _steps_aside(loop, index) else note
        expected: tuple[str, Family] | None = (NUMERALS[(degree + 5) % 12], "major")
    else:
        expected = None
    expected = EXPECTED.get((mode, degree), expected)
    if expected is None:
        return _substitute_through_ii(loop, index)
    goal, aims = expected
    return Function(f"V/{goal}", "secondary", note, aims, from_minor=_comes_from_minor(loop, index))


def _substitute_through_ii(loop: Loop, index: int) -> Function | None:
    """A substitute may go to its goal through the ii of that: Ab7 Dm7b5 G7."""
    two, goal = loop.at(index + 1), loop.at(index + 2)
    goes = root_motion(loop.at(index), two) == 6 and _is_minor(two) and root_motion(two, goal) == 5
    return _substitute(loop, 11, goal) if goes and is_dominant(goal) else None


def _steps_aside(loop: Loop, index: int) -> bool:
    """Return whether the ii and V at a place stand a semitone beside another ii, or ii and V.

    Another ii is that of the key, or one before its own V: Fm6 before Em7 A7 in C is neither.
    """
    two = loop.at(index - 1)
    return any(
        root_motion(two, loop.at(beside)) in (1, 11) and _is_ii(loop, beside)
        for beside in (index - 2, index - 3, index + 1)
    )


def _is_ii(loop: Loop, index: int) -> bool:
    chord = loop.at(index)
    if loop.degree(chord) == 2:
        return family_of(chord) in _TWOS
    return has_ii(loop, index + 1) and is_dominant(loop.at(index + 1))
