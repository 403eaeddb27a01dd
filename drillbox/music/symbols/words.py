"""The trade's spellings of chord qualities and changes, as patterns and tables."""

from __future__ import annotations

import re

from drillbox.music.symbols.printed import SPECIAL

# Words are read in any case; the letters M and m, and o for diminished, only as they stand.
# "ma" before "dd" is the m of "madd9".
QUALITY = re.compile(
    r"\s*(?:(?P<major>(?i:major|maj|ma(?!dd|ug|lt))\.?|M(?![iI])|j(?=\d))"
    r"|(?P<minor>(?i:minor|min|mi)\.?|m|[-−–—])|(?P<delta>[Δ∆△▵])"
    r"|(?P<half>[øØ∅⌀]|(?i:half[- ]?dim(?:inished)?))"
    r"|(?P<dim>(?i:diminished|dim)\.?|[°º˚]|o(?!mit))"
    r"|(?P<aug>(?i:augmented|aug)\.?)|(?P<plus>\+)|(?P<dom>(?i:dominant|dom)\.?)|)"
)
# "7/13" is a thirteenth chord, "7M" a major seventh; a 6 or 7 may stand in parentheses.
NUMBER = re.compile(
    r"\s*(?:\((6/9|69|6|7)\)|(6/9|69|13|11|7/(?:13|11|9)(?!/)|7M(?![a-zA-Z0-9])|[245679]))"
)
_SIGNS = r"b+|♭+|\#+|♯+|x|𝄫|𝄪"
SEVENTH = re.compile(
    r"(?:(?i:major|maj|ma)|M)\s*(?P<by_word>7|9|11|13)|[Δ∆△▵]\s*(?P<by_sign>7|9|11|13)?"
    r"|[#♯](?P<raised>7)"
)
# What a slash may stand before instead of a bass: C7/b9, Csus4/3, Cm/maj7.
_SEVENTH_UNNAMED = re.sub(r"\?P<\w+>", "", SEVENTH.pattern)
AFTER_SLASH = re.compile(rf"\s*(?:(?:{_SIGNS}|[-−+])?(?:13|11|9)|3|{_SEVENTH_UNNAMED})")
CHANGE = re.compile(
    r"(?P<sus>(?i:sus)\s*(?:(?P<sus_by>[24])|(?P<sus_to>13|9|7)|))"
    r"|(?P<alt>(?i:alt(?:ered)?)\.?)"
    rf"|(?P<add>(?i:add)\s*(?P<add_by>{_SIGNS}|(?i:maj|ma)|M|)(?P<add_to>[0-9]+))"
    r"|(?P<no>(?i:no|omit)\s*(?P<no_of>[0-9]+)(?:st|nd|rd|th)?)"
    rf"|(?P<seventh>{SEVENTH.pattern})"
    rf"|(?P<alter>(?P<alter_by>{_SIGNS}|[-−+])(?P<alter_to>13|11|9|6|5))"
    r"|(?P<natural>9|11|13|4|3)"
    r"|(?P<plus>\+|(?i:aug)\.?)"
)
CHANGES = ("sus", "alt", "add", "no", "seventh", "alter", "natural", "plus")
SPECIAL_KIND = re.compile(
    rf"\s*(?:\((?P<inside>{'|'.join(SPECIAL)})\)|(?P<bare>{'|'.join(SPECIAL)}))(?=\s*(?:/|$))"
)
_ACCIDENTAL = {"b": -1, "♭": -1, "-": -1, "−": -1, "𝄫": -2,
               "#": 1, "♯": 1, "+": 1, "x": 2, "𝄪": 2}  # fmt: skip

_SIXTHS = {"6": "sixth", "69": "sixth"}
_LADDER = {"7": "seventh", "9": "ninth", "11": "11th", "13": "13th"}
_DOMINANT = {"7": "dominant"} | {n: f"dominant-{k}" for n, k in _LADDER.items() if n != "7"}
_MAJOR = {n: f"major-{k}" for n, k in _LADDER.items()}
# Quality as written -> number as written -> kind. What isn't here isn't read.
KIND_OF: dict[str, dict[str, str]] = {
    "": {"": "major", "2": "major", "5": "power", "7M": "major-seventh"}
    | {n: f"major-{k}" for n, k in _SIXTHS.items()}
    | _DOMINANT,
    "major": {"": "major"} | {n: f"major-{k}" for n, k in _SIXTHS.items()} | _MAJOR,
    "delta": {"": "major-seventh"} | _MAJOR,
    "minor": {"": "minor", "2": "minor", "7M": "major-minor"}
    | {n: f"minor-{k}" for n, k in (_SIXTHS | _LADDER).items()},
    "dim": {"": "diminished", "7": "diminished-seventh"},
    "half": {"": "half-diminished", "7": "half-diminished", "9": "minor-ninth", "11": "minor-11th"},
    "aug": {"": "augmented", "7": "augmented-seventh", "9": "dominant-ninth"},
    "plus": {"": "augmented", "7": "augmented-seventh"},
    "dom": _DOMINANT,
}
# Written often, but to mean different things: why it isn't read, and what could stand instead.
AMBIGUOUS = {
    ("", "4"): ("write sus4 or add11", "sus4"),
    ("plus", "9"): ("write 9#5 or add#9", "9#5"),
    ("plus", "11"): ("write 7#11 or add#11", "7#11"),
    ("delta", "6"): ("write 6 or maj7(13)", "6"),
}
# Read, but in a way that others may not mean: how, and what to write for the other.
READ_AS = {
    ("", "11"): ("with a fourth and no third", "9(add11)", "both"),
    ("dom", "11"): ("with a fourth and no third", "9(add11)", "both"),
    ("", "2"): ("with its third", "sus2", "none"),
}


def alter_of(signs: str) -> int:
    """Return the semitones of a run of accidentals: ``bb`` and ``𝄫`` are -2, none is 0."""
    return sum(_ACCIDENTAL[sign] for sign in signs)
