"""Keys from signatures and modes, the same for both formats."""

from __future__ import annotations

from drillbox.music.keys import MODE_WORDS
from drillbox.music.pitch import FIFTHS

# By the first three letters, which alone count in ABC 2.1 (section 4.6); MusicXML 4.0 has the
# same names in full.
MODES = {word: mode for word, mode in MODE_WORDS.items() if len(word) == 3}


def signature_of(fifths: int) -> dict[str, int]:
    """Return the alterations of a signature of so many sharps (flats: below 0), by letter."""
    counts = {letter: (fifths - 1 - i) // 7 + 1 for i, letter in enumerate(FIFTHS)}
    return {letter: count for letter, count in counts.items() if count}
