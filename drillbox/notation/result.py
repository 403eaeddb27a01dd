"""What reading a file gives: tunes, each with its phrase or with what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass

from drillbox.music.charts import Meter
from drillbox.music.keys import Key, key_before, transposed_key
from drillbox.music.phrases import Phrase
from drillbox.music.pitch import UNISON, Interval

MAX_BYTES = 2_000_000


@dataclass(frozen=True, slots=True)
class Limits:
    """The most that is read: bytes of text (unzipped), tunes in a file, bars and notes in a tune.

    Bars and notes are counted as played, that is with repeats written out.
    """

    bytes: int = MAX_BYTES
    tunes: int = 500
    bars: int = 128
    notes: int = 2000


WHOLE = Limits(bars=1000, notes=20_000)
"""For a tune of which only some bars are taken."""


@dataclass(frozen=True, slots=True)
class Given:
    """What the player says about a file; each is used only where a tune lacks it.

    The key is the one on the page, however that sounds; ``sounding`` comes first for a page that
    says how it sounds. But for ``goal``: with that tempo, what the file says of tempos isn't looked
    at.
    """

    title: str | None = None
    key: Key | None = None
    tempo: int | None = None
    meter: Meter | None = None
    goal: int | None = None
    sounding: Key | None = None

    def interval(self, written: Key | None, transposition: Interval) -> Interval:
        """Return the interval from written to sounding pitch, to a tonic that players write.

        ``written`` is the key on the page, ``transposition`` the interval that the page says.
        """
        if written is None and self.sounding:
            return -transposed_key(self.sounding, -transposition)[1]
        key = written or self.key
        return transposed_key(key, transposition)[1] if key else transposition

    def key_on_page(self, interval: Interval) -> Key | None:
        """Return the key that was given, as it stands on a page that sounds an interval away."""
        return key_before(self.sounding, interval) if self.sounding else self.key


@dataclass(frozen=True, slots=True)
class Problem:
    """Something in a file that is wrong or doubtful; line and column count from 1.

    MusicXML has no useful lines: there ``text`` names the measure and both are None.
    """

    line: int | None
    column: int | None
    text: str


@dataclass(frozen=True, slots=True)
class Tune:
    """One tune of a file. ``phrase`` is None exactly where there are ``problems``.

    ``index`` counts from 1 in the order of the file. ``doubts`` tell what was understood
    that the player may have meant otherwise; ``needs_tempo``, that nothing but a tempo is
    lacking. ``concert`` tells that the page itself says how
    it sounds (MusicXML always does, ABC where it transposes): the phrase is at concert pitch.
    ``keys`` has for each of the phrase's bars the key in force at its beginning. ``interval`` is
    that from what stands on the page to the phrase.
    """

    index: int
    title: str
    phrase: Phrase | None
    problems: tuple[Problem, ...] = ()
    doubts: tuple[Problem, ...] = ()
    concert: bool = False
    needs_tempo: bool = False
    keys: tuple[Key, ...] = ()
    interval: Interval = UNISON


@dataclass(frozen=True, slots=True)
class Reading:
    """All tunes of a file, in its order."""

    tunes: tuple[Tune, ...]
