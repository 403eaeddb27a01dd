"""Chord functions as values: numerals in the key, and the tables of those that need no context."""

from __future__ import annotations

from dataclasses import dataclass

from drillbox.music.degrees import Family, is_written, signs
from drillbox.music.keys import Key, Third, conventional
from drillbox.music.pitch import Interval

NUMERALS = ("I", "bII", "II", "bIII", "III", "IV", "#IV", "V", "bVI", "VI", "bVII", "VII")

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
    ("major", 0, "augmented"): "I", ("minor", 3, "augmented"): "bIII",
}  # fmt: skip
# A dominant that doesn't resolve: the chord of the key that it would lead to, and its family.
EXPECTED: dict[tuple[Third, int], tuple[str, Family]] = {
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
        parts = [self.roman if ascii else signs(self.roman, ascii=False).replace("dim", "°")]
        if self.replaces:
            root = key.tonic.up(self.replaces)
            ways = (root, root.up(Interval(1, 0)), root.up(Interval(-1, 0)))
            written = next((each for each in ways if is_written(each)), root)
            parts.append(f"(for {written.text(ascii=ascii)}7)")
        elif self.note:
            parts.append(f"({self.note})")
        elif self.local:
            mode: Third = "minor" if self.roman.lstrip("b#").islower() else "major"
            local = conventional(Key(key.tonic.up(self.local), mode))
            dash = "-" if ascii else "–"
            parts.append(f"(ii{dash}V{dash}I in {local.text(ascii=ascii)})")
        text = " ".join(part for part in parts if part)
        if not self.turnaround:
            return text
        return f"turnaround, {text}" if text else "turnaround"
