"""Chord tones by the wording of the MusicXML schema, counted independently of the product."""

from __future__ import annotations

# W3C MusicXML 4.0 schema, kind-value, in the schema's own terms: a kind it builds on, and
# what that gets. Intervals are (letters up, semitones).
THIRD, MINOR_THIRD, FIFTH = (2, 4), (2, 3), (4, 7)
SPEC: dict[str, tuple[str, list[tuple[int, int]]]] = {
    "major": ("", [THIRD, FIFTH]),
    "minor": ("", [MINOR_THIRD, FIFTH]),
    "augmented": ("", [THIRD, (4, 8)]),
    "diminished": ("", [MINOR_THIRD, (4, 6)]),
    "dominant": ("major", [(6, 10)]),
    "major-seventh": ("major", [(6, 11)]),
    "minor-seventh": ("minor", [(6, 10)]),
    "diminished-seventh": ("diminished", [(6, 9)]),
    "augmented-seventh": ("augmented", [(6, 10)]),
    "half-diminished": ("diminished", [(6, 10)]),
    "major-minor": ("minor", [(6, 11)]),
    "major-sixth": ("major", [(5, 9)]),
    "minor-sixth": ("minor", [(5, 9)]),
    "dominant-ninth": ("dominant", [(8, 14)]),
    "major-ninth": ("major-seventh", [(8, 14)]),
    "minor-ninth": ("minor-seventh", [(8, 14)]),
    "dominant-11th": ("dominant-ninth", [(10, 17)]),
    "major-11th": ("major-ninth", [(10, 17)]),
    "minor-11th": ("minor-ninth", [(10, 17)]),
    "dominant-13th": ("dominant-11th", [(12, 21)]),
    "major-13th": ("major-11th", [(12, 21)]),
    "minor-13th": ("minor-11th", [(12, 21)]),
    "suspended-second": ("", [(1, 2), FIFTH]),
    "suspended-fourth": ("", [(3, 5), FIFTH]),
    "power": ("", [FIFTH]),
}
# "relative to a dominant chord (major and perfect intervals except for a minor seventh)":
# MusicXML 4.0, degree-alter, of added degrees.
DOMINANT = {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 10, 9: 14, 11: 17, 13: 21}
NATURAL = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def steps_of(kind: str) -> list[tuple[int, int]]:
    """Return a kind's (letters up, semitones), root first, by the schema's own recursion."""
    base, further = SPEC[kind]
    return ([(0, 0)] if not base else steps_of(base)) + further


def spelled(root: str, letters: int, semitones: int) -> str:
    """Return the name so many letters and semitones above a root, by counting."""
    letter = "CDEFGAB"[("CDEFGAB".index(root[0]) + letters) % 7]
    accidentals = root[1:].replace("x", "##")
    start = NATURAL[root[0]] + accidentals.count("#") - accidentals.count("b")
    alter = (start + semitones - NATURAL[letter] + 6) % 12 - 6
    return letter + ("#" * alter if alter > 0 else "b" * -alter)


def by_the_schema(root: str, kind: str, degrees: tuple[tuple[str, int, int], ...]) -> list[str]:
    """Return the spelled tones that kind and degrees mean by the schema's wording."""
    sounding = steps_of(kind)
    for action, number, alter in degrees:
        there = [each for each in steps_of(kind) if each[0] == number - 1]
        if action == "add":
            sounding.append((number - 1, DOMINANT[number] + alter))
            continue
        sounding.remove(there[0])
        if action == "alter":
            sounding.append((number - 1, there[0][1] + alter))
    return [spelled(root, *each) for each in sorted(sounding)]
