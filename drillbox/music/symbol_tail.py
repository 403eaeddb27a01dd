"""Reading what follows the root of a chord symbol: quality, number, changes, bass."""

from __future__ import annotations

import re
from functools import lru_cache

from drillbox.music.pitch import NAME, Name, parse_name
from drillbox.music.printed import ALTERED, SPECIAL
from drillbox.music.tones import KINDS, Tones

# Words are read in any case; the letters M and m, and o for diminished, only as they stand.
# "ma" before "dd" is the m of "madd9".
_QUALITY = re.compile(
    r"\s*(?:(?P<major>(?i:major|maj|ma(?!dd|ug|lt))|M(?![iI]))"
    r"|(?P<minor>(?i:minor|min|mi)|m|[-−–])|(?P<delta>[Δ∆△▵^])"
    r"|(?P<dim>(?i:diminished|dim)|[°º˚]|o(?!mit))|(?P<half>[øØ∅])"
    r"|(?P<aug>(?i:augmented|aug))|(?P<plus>\+)|(?P<dom>(?i:dominant|dom))|)"
)
_NUMBER = re.compile(r"\s*(6/9|69|13|11|[5679])(?!\d)")
_MODIFIER = re.compile(
    r"(?P<sus>(?i:sus)\s*(?P<sus_by>[24]?)(?!\d))"
    r"|(?P<alt>(?i:alt(?:ered)?))"
    r"|(?P<add>(?i:add)\s*(?P<add_by>b+|♭+|\#+|♯+|x|𝄫|𝄪|(?i:maj|ma)|M|)(?P<add_to>\d+))"
    r"|(?P<no>(?i:no|omit)\s*(?P<no_of>\d+)(?:st|nd|rd|th)?)"
    r"|(?P<alter>(?P<alter_by>b+|♭+|\#+|♯+|x|𝄫|𝄪|[-−+])(?P<alter_to>\d+))"
    r"|(?P<seventh>(?:(?i:major|maj|ma)|M)\s*(?P<by_word>7|9|11|13)(?!\d)"
    r"|[Δ∆△▵^]\s*(?P<by_sign>7|9|11|13)?(?!\d))"
    r"|(?P<natural>(?:9|11|13)(?!\d))"
    r"|(?P<plus>\+)"
)
_ACCIDENTAL = {"b": -1, "♭": -1, "-": -1, "−": -1, "𝄫": -2,
               "#": 1, "♯": 1, "+": 1, "x": 2, "𝄪": 2}  # fmt: skip
_DEGREES = frozenset({1, 2, 3, 4, 5, 6, 7, 9, 11, 13})

_SIXTHS = {"6": "sixth", "69": "sixth"}
_LADDER = {"7": "seventh", "9": "ninth", "11": "11th", "13": "13th"}
_DOMINANT = {"7": "dominant"} | {n: f"dominant-{k}" for n, k in _LADDER.items() if n != "7"}
_MAJOR = {n: f"major-{k}" for n, k in _LADDER.items()}
# Quality as written -> number as written -> kind. What isn't here isn't read.
_KINDS: dict[str, dict[str, str]] = {
    "": {"": "major", "5": "power"} | {n: f"major-{k}" for n, k in _SIXTHS.items()} | _DOMINANT,
    "major": {"": "major"} | {n: f"major-{k}" for n, k in _SIXTHS.items()} | _MAJOR,
    "delta": {"": "major-seventh"} | _MAJOR,
    "minor": {"": "minor"} | {n: f"minor-{k}" for n, k in (_SIXTHS | _LADDER).items()},
    "dim": {"": "diminished", "7": "diminished-seventh"},
    "half": {"": "half-diminished", "7": "half-diminished", "9": "minor-ninth", "11": "minor-11th"},
    "aug": {"": "augmented", "7": "augmented-seventh", "9": "dominant-ninth"},
    "plus": {"": "augmented", "7": "augmented-seventh"},
    "dom": _DOMINANT,
}
_SPECIAL = re.compile(rf"\s*(?:\(({'|'.join(SPECIAL)})\)|({'|'.join(SPECIAL)}))(?=\s*(?:/|$))")


class Stop(Exception):  # noqa: N818 - a signal between two modules; players see SymbolError
    """Reading stops at ``at``, for a reason; ``near`` is a symbol's tail to propose."""

    def __init__(self, at: int, why: str = "", near: str = "") -> None:
        self.at = at
        self.why = why
        self.near = near


@lru_cache(maxsize=2048)
def read_tail(text: str) -> tuple[str, Tones, Name | None]:
    """Read the text after a root: (special kind or "", tones, bass). Raises Stop.

    The special kinds are those of MusicXML that have no symbol (``printed.SPECIAL``).
    Cached: the same few tails stand over every root.
    """
    if special := _SPECIAL.match(text):
        kind = special[1] or special[2]
        return kind, KINDS[kind], _read_bass(text, special.end())
    reader = _Reader(text)
    reader.head()
    reader.changes()
    return "", reader.sounding(), _read_bass(text, reader.at)


def _read_bass(text: str, at: int) -> Name | None:
    """Read ``/E`` from the slash to the end of the text; None if nothing is left."""
    if not text[at:].strip():
        return None
    slash = text.index("/", at)
    start = slash + 1 + len(text[slash + 1 :]) - len(text[slash + 1 :].lstrip())
    found = NAME.match(text, start)
    if not found:
        raise Stop(start, "a bass note is missing, A to G" if start >= len(text.rstrip()) else "")
    if text[found.end() :].strip():
        raise Stop(found.end())
    return parse_name(found[0])


class _Reader:
    """The tones so far, and which of them the number only implies and may still be changed."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.tones: dict[int, list[int]] = {}
        self.implied: set[int] = set()
        self.quality = ""
        self.number = ""
        self.inside = False
        self.suspended = False

    def head(self) -> None:
        """Read quality and number."""
        quality = _QUALITY.match(self.text)
        assert quality is not None, "every part of the pattern may be empty"
        self.quality = quality.lastgroup or ""
        number = _NUMBER.match(self.text, quality.end())
        kinds = _KINDS[self.quality]
        written = number[1].replace("/", "") if number else ""
        if written not in kinds:
            self.at = quality.end()
            near = "m7b5" if (self.quality, written) == ("minor", "5") else ""
            raise Stop(self._next(), "", near)
        self.number = written
        self.at = number.end() if number else quality.end()
        self._begin(kinds[written])

    def _next(self) -> int:
        """Return the place of the next character that isn't a space."""
        rest = self.text[self.at :]
        return self.at + len(rest) - len(rest.lstrip())

    def _begin(self, kind: str) -> None:
        self.tones = {number: [alter] for number, alter in KINDS[kind]}
        headline = int(self.number[-1] if self.number == "69" else self.number or "0")
        self.implied = {number for number in (5, 9, 11) if number < headline or number == 5}
        if self.number == "69":
            self.tones[9] = [0]
        if self.quality in {"half", "aug", "plus", "dim"}:
            self.implied.discard(5)
            self.tones[5] = [1 if self.quality in {"aug", "plus"} else -1]
        if self.number == "5":
            self.implied.clear()

    def changes(self) -> None:
        """Read all that follows the number, up to a slash bass or the end."""
        apart = False
        while True:
            start, self.at = self.at, self._next()
            apart = apart or self.at > start
            sign = self.text[self.at : self.at + 1]
            if not sign or (sign == "/" and not self.inside):
                break
            if self._separated(sign):
                apart = True
            else:
                self._change(apart)
                apart = False
        if self.inside:
            raise Stop(self.at, "a ')' is missing")
        if self.text[: self.at].rstrip().endswith(","):
            raise Stop(self.at)

    def _separated(self, sign: str) -> bool:
        """Take a comma or parenthesis, in which a slash may stand for a comma."""
        if sign == "(" and not self.inside:
            self.inside = True
        elif sign == ")" and self.inside and self.text[: self.at].rstrip()[-1] not in "(,/":
            self.inside = False
        elif sign not in {",", "/"}:
            return False
        self.at += 1
        return True

    def _change(self, apart: bool) -> None:
        found = _MODIFIER.match(self.text, self.at)
        if not found:
            raise Stop(self.at)
        match next(name for name in _CHANGES if found[name] is not None):
            case "sus":
                self._suspend(found["sus_by"] or "4")
            case "alt":
                self._altered()
            case "add":
                self._add(int(found["add_to"]), found["add_by"])
            case "no":
                self._omit(int(found["no_of"]))
            case "alter":
                self._alter(int(found["alter_to"]), _accidental(found["alter_by"]))
            case "seventh":
                self._major_seventh(found["by_word"] or found["by_sign"] or "7")
            case "natural":
                self._natural(int(found["natural"]), apart)
            case "plus":
                self._raise_fifth()
        self.at = found.end()

    def _suspend(self, by: str) -> None:
        if self.suspended or self.quality not in {"", "major", "delta", "dom"}:
            raise Stop(self.at, "the third is stated already")
        if self.tones.get(3) != [0] or (by == "2" and 9 in self.tones):
            raise Stop(self.at, "no third is left to suspend" if by == "4" else "")
        self.suspended = True
        del self.tones[3]
        self.tones.setdefault(int(by), []).append(0)
        if by == "4" and self.tones.get(11) == [0]:
            del self.tones[11]

    def _altered(self) -> None:
        if self.quality not in {"", "dom"} or self.number not in {"", "7"}:
            raise Stop(self.at)
        if set(self.sounding()) - {(7, -1)} != set(KINDS["major"]):
            raise Stop(self.at, "alt states fifths and ninths itself")
        self.tones = {}
        for number, alter in ALTERED:
            self.tones.setdefault(number, []).append(alter)
        self.implied.clear()
        self.number = "alt"

    def _add(self, number: int, by: str) -> None:
        if number not in _DEGREES:
            raise Stop(self.at, "no such degree")
        if number == 7 and not by:
            raise Stop(self.at, "write 7 or maj7", "7")
        if by in {"M"} or by.lower() in {"ma", "maj"}:
            if number != 7:
                raise Stop(self.at)
            by = ""
        alter = _accidental(by)
        if alter in self.tones.get(number, ()):
            raise Stop(self.at, f"the {number} is there already")
        self.tones.setdefault(number, []).append(alter)

    def _omit(self, number: int) -> None:
        if number not in self.tones:
            raise Stop(self.at, f"there is no {number} to leave out")
        del self.tones[number]
        self.implied.discard(number)

    def _alter(self, number: int, alter: int) -> None:
        if number not in {5, 9, 11, 13}:
            raise Stop(self.at)
        there = self.tones.get(number)
        if number in self.implied:
            self.implied.discard(number)
            self.tones[number] = [alter]
        elif there is None and number != 5:
            if not self.tones.keys() & {6, 7}:
                sign = self.text[self.at : self.at + 1]
                near = f"7{'b' if alter < 0 else '#'}{number}" if sign else ""
                raise Stop(self.at, "a tension needs a seventh or sixth, or 'add'", near)
            self.tones[number] = [alter]
        elif there is None or 0 in there or alter in there or self._stated(number):
            raise Stop(self.at, f"the {number} is stated already")
        else:
            there.append(alter)

    def _stated(self, number: int) -> bool:
        """Tell whether the quality itself states the degree (the fifth of dim, aug, ø)."""
        return number == 5 and self.quality in {"half", "aug", "plus", "dim"}

    def _major_seventh(self, upto: str) -> None:
        if self.number or 7 in self.tones or self.quality in {"major", "delta", "half", "dom"}:
            raise Stop(self.at, "the seventh is stated already" if 7 in self.tones else "")
        self.number = upto
        self.tones[7] = [0]
        for number in (9, 11, 13):
            if number <= int(upto) and not (number == 11 and self.suspended):
                if number in self.tones:
                    raise Stop(self.at, f"the {number} is there already")
                self.tones[number] = [0]
                if number < int(upto):
                    self.implied.add(number)

    def _natural(self, number: int, apart: bool) -> None:
        if not apart or not self.tones.keys() & {6, 7}:
            near = f"add{number}" if not self.tones.keys() & {6, 7} else ""
            raise Stop(self.at, "", near)
        if number in self.tones:
            raise Stop(self.at, f"the {number} is stated already")
        self.tones[number] = [0]

    def _raise_fifth(self) -> None:
        if self.quality not in {"", "dom"} or self.number not in {"7", "9"} or self.inside:
            raise Stop(self.at)
        self._alter(5, 1)

    def sounding(self) -> Tones:
        """Return the tones as (degree, alteration), in order."""
        return tuple(sorted((n, alter) for n, alters in self.tones.items() for alter in alters))


_CHANGES = ("sus", "alt", "add", "no", "alter", "seventh", "natural", "plus")


def _accidental(signs: str) -> int:
    return sum(_ACCIDENTAL[sign] for sign in signs)
