"""Keys from signatures and modes, the same for both formats."""

from __future__ import annotations

from drillbox.music.keys import Mode
from drillbox.music.pitch import FIFTHS

# First three letters: how many fifths the mode's signature lies from its tonic's major one,
# and the mode that the phrase is taken to be in.
MODES: dict[str, tuple[int, Mode]] = {
    "maj": (0, "major"), "ion": (0, "major"), "lyd": (1, "major"), "mix": (-1, "major"),
    "min": (-3, "minor"), "aeo": (-3, "minor"), "dor": (-2, "minor"),
    "phr": (-4, "minor"), "loc": (-5, "minor"),
}  # fmt: skip
FULL = {"ion": "Ionian", "lyd": "Lydian", "mix": "Mixolydian", "aeo": "Aeolian",
        "dor": "Dorian", "phr": "Phrygian", "loc": "Locrian"}  # fmt: skip


def signature_of(fifths: int) -> dict[str, int]:
    """Return the alterations of a signature of so many sharps (flats: below 0), by letter."""
    counts = {letter: (fifths - 1 - i) // 7 + 1 for i, letter in enumerate(FIFTHS)}
    return {letter: count for letter, count in counts.items() if count}
