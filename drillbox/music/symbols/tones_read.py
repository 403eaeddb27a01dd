"""The tones of a symbol while it is read, and what each part of it may do to them."""

from __future__ import annotations

from drillbox.music.chords import KINDS, Tones
from drillbox.music.symbols.printed import ALTERED
from drillbox.music.symbols.words import AMBIGUOUS, KIND_OF

_DEGREES = frozenset({1, 2, 3, 4, 5, 6, 7, 9, 11, 13})
# Written over triads too: the Lydian fourth and the flat sixth, which say nothing of a seventh.
_OVER_TRIADS = {(11, 1), (6, -1)}
_FIFTH = {"half": -1, "dim": -1, "aug": 1, "plus": 1}


class Refused(Exception):
    """A part of a symbol can't stand: why, and what could after its root."""

    def __init__(self, why: str = "", near: str = "") -> None:
        self.why = why
        self.near = near


class SymbolTones:
    """The tones so far, and which of them the number only implies and may still be changed.

    C13 implies a ninth, so C13b9 has a flat one instead; C9 states it, so C9b9 is refused.
    """

    def __init__(self, quality: str, number: str) -> None:
        if (quality, number) in AMBIGUOUS:
            raise Refused(*AMBIGUOUS[quality, number])
        if number not in KIND_OF[quality]:
            raise Refused()
        self._quality = quality
        self._number = number
        self._suspended = False
        self._tones = {degree: [alter] for degree, alter in KINDS[KIND_OF[quality][number]]}
        if number in {"69", "2"}:
            self._tones[9] = [0]
        if number == "11" and quality in {"", "dom"}:
            # As players mean it; the kind of MusicXML has the third besides.
            self._suspended = True
            self._tones = {each: self._tones.get(each, [0]) for each in (1, 4, 5, 7, 9)}
        if quality in _FIFTH:
            self._tones[5] = [_FIFTH[quality]]
        self._implied = {9, 11} if number == "13" else {9} if number == "11" else set()
        if quality not in _FIFTH and number != "5":
            self._implied.add(5)

    def sounding(self) -> Tones:
        """Return the tones as (degree, alteration), in order."""
        return tuple(sorted((n, alter) for n, alters in self._tones.items() for alter in alters))

    def suspend(self, by: int, upto: int = 0) -> None:
        """Put a fourth or second in the third's place; a fourth takes an implied 11th along.

        ``upto`` is the number that follows (``Csus7`` is C7sus4), 0 for none.
        """
        if self._number == "11" and (by, upto) == (4, 0) and self._tones.get(4) == [0]:
            return  # C11sus says it twice
        if self._suspended:
            raise Refused("it is suspended already")
        if self._quality not in {"", "major", "delta", "dom"}:
            raise Refused("the third is stated already")
        if self._tones.get(3) != [0] or by in self._tones:
            raise Refused("there is no third to suspend")
        if by == 2 and 9 in self._tones:
            raise Refused("the 2 is the 9")
        self._suspended = True
        del self._tones[3]
        self._tones[by] = [0]
        if by == 4 and self._tones.get(11) == [0]:
            del self._tones[11]
        if upto:
            self._stack_seventh(-1, upto)

    def make_altered(self) -> None:
        """Read ``alt``: a dominant seventh with both fifths and both ninths altered."""
        if self._quality not in {"", "dom"} or self._number not in {"", "7"}:
            raise Refused()
        if self.sounding() != KINDS["dominant" if self._number else "major"]:
            raise Refused("alt states fifths and ninths itself")
        self._tones = {}
        for number, alter in ALTERED:
            self._tones.setdefault(number, []).append(alter)
        self._implied.clear()
        self._number = "alt"

    def add(self, number: int, alter: int) -> None:
        """Add a degree, whatever else of that number sounds."""
        if number not in _DEGREES:
            raise Refused("there is no such degree")
        if alter in self._tones.get(number, ()):
            raise Refused(f"the {number} is there already")
        self._tones.setdefault(number, []).append(alter)

    def omit(self, number: int) -> None:
        """Leave a degree out."""
        if number not in self._tones:
            raise Refused(f"there is no {number} to leave out")
        del self._tones[number]
        self._implied.discard(number)

    def alter(self, number: int, alter: int) -> None:
        """Read ``b5``, ``#9``: change an implied degree, or add a tension to a seventh chord."""
        if number == 6 and alter != -1:
            raise Refused()
        if number == 6 and 7 in self._tones:
            number = 13  # the same tone, named as over a seventh
        if number == 11 and self._number == "11" and 4 in self._tones:
            raise Refused("the 11 is stated already", "9sus4")
        there = self._tones.get(number)
        if number in self._implied:
            self._implied.discard(number)
            self._tones[number] = [alter]
        elif there is None and number != 5:
            if (number, alter) == (9, -1) and not self._has_seventh() and 4 in self._tones:
                self._stack_seventh(-1, 7)  # Csusb9
            if not self._has_seventh() and (number, alter) not in _OVER_TRIADS:
                near = f"7{'b' if alter < 0 else '#'}{number}"
                raise Refused("a tension needs a 7 or 6 before it, or 'add'", near)
            self._tones[number] = [alter]
        elif there is None or 0 in there or alter in there or self._states_fifth(number):
            raise Refused(f"the {number} is stated already")
        else:
            there.append(alter)

    def _states_fifth(self, number: int) -> bool:
        return number == 5 and self._quality in _FIFTH

    def _has_seventh(self) -> bool:
        """Return whether there is a seventh or sixth, over which tensions are read."""
        return 7 in self._tones or 6 in self._tones

    def add_third(self) -> None:
        """Read the 3 of ``C7sus4/3``: the third beside the fourth."""
        if not self._suspended or 3 in self._tones:
            raise Refused()
        self._tones[3] = [0]

    def add_natural(self, number: int, apart: bool) -> None:
        """Read the 13 of ``C7(13)`` or ``C7b9,13``; ``apart`` from the digits before it."""
        if not self._has_seventh():
            raise Refused(near=f"add{number}")
        if not apart:
            raise Refused()
        if number in self._tones:
            raise Refused(f"the {number} is stated already")
        self._tones[number] = [0]

    def add_major_seventh(self, upto: int) -> None:
        """Read ``(maj7)``, ``(maj9)`` ... after a triad of any quality, m9 or dim7."""
        if self._quality == "major":
            raise Refused("major is stated already")
        if (
            upto == 7
            and self._quality == "minor"
            and self._tones.get(7) == [-1]
            and (self._number in {"9", "11", "13"})
        ):
            self._tones[7] = [0]
        elif upto == 7 and self._quality == "dim" and self._tones.get(7) == [-2]:
            self._tones[7] = [-2, 0]
        else:
            self._stack_seventh(0, upto)

    def _stack_seventh(self, seventh: int, upto: int) -> None:
        """Add a seventh and the natural tensions up to a number, where none stands yet."""
        if 7 in self._tones:
            raise Refused("the 7 is stated already")
        if self._number:
            raise Refused()
        self._number = str(upto)
        self._tones[7] = [seventh]
        for number in (9, 11, 13):
            if number > upto or (number == 11 and self._suspended):
                continue
            self.add(number, 0)
            if number < upto:
                self._implied.add(number)

    def raise_fifth(self) -> None:
        """Read the bare plus sign of ``C7+``, ``C7aug`` or ``Cmaj7+``.

        ``Cm7+`` isn't read: some write it for a minor chord with a major seventh.
        """
        major = self._quality in {"major", "delta"}
        if not (major or self._quality in {"", "dom"}):
            raise Refused()
        if self._number not in ({"", "7", "9"} if major else {"7", "9"}):
            raise Refused()
        self.alter(5, 1)
