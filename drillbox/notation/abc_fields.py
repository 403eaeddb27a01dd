"""The information fields of ABC 2.1: key, meter, unit length, tempo, title."""

from __future__ import annotations

import html
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from drillbox.errors import BadInput
from drillbox.music.charts import Meter
from drillbox.music.keys import Key, signed_key
from drillbox.music.pitch import Interval, Name, interval_of
from drillbox.notation.sheet import MODES, signature_of

_CLEF = re.compile(r"(?:clef=)?(?:treble|bass|alto|tenor|perc|none|[GCF]\d?)\d?([+-]8)?")
_KEY = re.compile(r"([A-G])([#b♯♭]?)(.*)", re.DOTALL)
_ACCIDENTALS = {"^^": 2, "^": 1, "__": -2, "_": -1, "=": 0}


@dataclass(frozen=True, slots=True)
class Clef:
    """What K: or V: fields say of sounding pitch: octaves up, and semitones to transpose by.

    None where they say nothing of it; ``transpose=0`` says that the pitch is known.
    """

    octaves: int | None = None
    semitones: int | None = None

    def over(self, other: Clef) -> Clef:
        """Return this one, with what it leaves open as another one has it."""
        return Clef(
            other.octaves if self.octaves is None else self.octaves,
            other.semitones if self.semitones is None else self.semitones,
        )

    def interval(self) -> Interval:
        """Return the interval from written to sounding pitch, spelled as players name it."""
        octaves = self.octaves or 0
        return interval_of(self.semitones or 0) + Interval(7 * octaves, 12 * octaves)


@dataclass(frozen=True, slots=True)
class KeyField:
    """A read K: field: the key (None where the field names none), its signature and clef.

    ``signature`` maps letters to alterations. ``doubtful``: it is taken for major though the
    lone ``M`` there may be meant otherwise.
    """

    key: Key | None
    signature: Mapping[str, int]
    clef: Clef
    doubtful: bool = False


def read_key(text: str) -> KeyField:
    """Read what follows ``K:``; raise BadInput where it isn't a key of ABC 2.1."""
    words = text.strip()
    if words[:2] in ("HP", "Hp"):
        return KeyField(None, {"F": 1, "C": 1}, read_clef(words[2:]))
    match = _KEY.match(words)
    if not match or words.startswith("clef"):
        rest = re.sub(r"^none\b", "", words)
        return KeyField(None, _altered({}, rest), read_clef(rest))
    tonic = Name(match[1], {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}[match[2]])
    mode, rest = _mode(match[3], text)
    key = signed_key(tonic, MODES[mode])
    signature = signature_of(key.fifths)
    explicit = re.match(r"exp\b", rest)
    signature = _altered({} if explicit else signature, rest)
    unread = [word for word in rest.split() if not _known(word)]
    if unread:
        raise BadInput(f"{unread[0]!r} in K:{text.strip()} is not read", _KEY_REMEDY)
    # The standard ignores the case of modes; a lone M is taken for major, but never silently.
    doubtful = bool(re.match(r"\s*M(?![A-Za-z=])", match[3]))
    return KeyField(key, signature, read_clef(rest), doubtful)


_KEY_REMEDY = "Write a key such as K:Bb, K:Gm or K:D dorian."


def _mode(rest: str, text: str) -> tuple[str, str]:
    match = re.match(r"\s*([A-Za-z]*)(.*)", rest, re.DOTALL)
    word = match[1] if match else ""
    behind = match[2] if match else ""
    if word in ("m", "M") and not behind.startswith("="):
        return ("min" if word == "m" else "maj"), behind.strip()
    if word[:3].lower() in MODES:
        return word[:3].lower(), behind.strip()
    if rest and not rest[0].isspace() and word:
        raise BadInput(f"the key K:{text.strip()} is not read", _KEY_REMEDY)
    return "maj", rest.strip()


def _known(word: str) -> bool:
    return bool(
        word == "exp"
        or _CLEF.fullmatch(word)
        or re.fullmatch(r"(\^\^|\^|__|_|=)[a-gA-G]", word)
        or re.match(r"[a-z]+=", word)
    )


def _altered(signature: Mapping[str, int], text: str) -> dict[str, int]:
    extra = re.findall(r"(?<!\S)(\^\^|\^|__|_|=)([a-gA-G])(?!\S)", text)
    return dict(signature) | {letter.upper(): _ACCIDENTALS[sign] for sign, letter in extra}


def read_clef(text: str) -> Clef:
    """Read the octave and transposition words of a K: or V: field (ABC 2.1, section 4.6)."""
    octaves: list[int] = []
    semitones: list[int] = []
    for word in text.split():
        if clef := _CLEF.fullmatch(word):
            octaves.append({None: 0, "+8": 1, "-8": -1}[clef[1]])
        number = re.fullmatch(r"(octave|transpose)=([+-]?\d{1,2})", word)
        if number:
            (octaves if number[1] == "octave" else semitones).append(int(number[2]))
    return Clef(sum(octaves) if octaves else None, sum(semitones) if semitones else None)


def read_meter(text: str) -> Meter | None:
    """Read what follows ``M:``; None for free meter. Raises BadInput where it isn't a meter."""
    words = re.sub(r"\s", "", text)
    if words in ("none", ""):
        return None
    if words in ("C", "C|"):
        return Meter(4, 4) if words == "C" else Meter(2, 2)
    match = re.fullmatch(r"\(?(\d{1,2}(?:\+\d{1,2})*)\)?/(\d{1,2})", words)
    beats = sum(int(number) for number in match[1].split("+")) if match else 0
    unit = int(match[2]) if match else 0
    if not 1 <= beats <= 64 or unit not in (1, 2, 4, 8, 16, 32, 64):
        raise BadInput(f"the meter M:{text.strip()} is not read", "Write one such as M:4/4.")
    return Meter(beats, unit)


def read_unit(text: str) -> Fraction:
    """Read what follows ``L:``; return the unit note length in quarter notes."""
    match = re.fullmatch(r"\s*1(?:/(\d{1,3}))?\s*", text)
    if not match or (match[1] and int(match[1]) not in (1, 2, 4, 8, 16, 32, 64, 128, 256, 512)):
        raise BadInput(f"the unit length L:{text.strip()} is not read", "Write L:1/8 or L:1/16.")
    return Fraction(4, int(match[1] or 1))


def read_tempo(text: str, unit: Fraction) -> tuple[Fraction | None, str]:
    """Read what follows ``Q:``: quarter notes a minute (None: words only), and a doubt.

    ``Q:120`` and ``Q:C=120`` are of older standards: so many unit lengths a minute (10.1).
    """
    words = re.sub(r'"[^"]*"?', " ", text).strip()
    if not words:
        return None, ""
    old = re.fullmatch(r"(?:C\d?\s*=\s*)?(\d{1,4})", words)
    if old:
        tempo = int(old[1]) * unit
        return tempo, f"Q:{words} is old style: taken as {old[1]} unit lengths a minute"
    length = r"\d{1,2}/\d{1,2}"
    match = re.fullmatch(rf"({length}(?:\s+{length})*)\s*=\s*(\d{{1,4}}(?:\.\d{{1,3}})?)", words)
    lengths = match[1].split() if match else []
    if not match or any(int(length.split("/")[1]) == 0 for length in lengths):
        raise BadInput(f"the tempo Q:{text.strip()} is not read", "Write one such as Q:1/4=132.")
    beat = sum((Fraction(length) for length in lengths), Fraction(0)) * 4
    return beat * Fraction(match[2]), ""


_ESCAPES = str.maketrans({"\\": "\\\\", "%": "\\%", "&": "\\&"})
# The mnemonics of ABC 2.1, section 8.2: a sign for the accent and its letter, or a ligature.
_ACCENTS = {"`": "\u0300", "'": "\u0301", "^": "\u0302", "~": "\u0303", '"': "\u0308",
            "c": "\u0327", "u": "\u0306", "v": "\u030c", "H": "\u030b"}  # fmt: skip
_LETTERS = {"AA": "Å", "aa": "å", "/O": "Ø", "/o": "ø", "AE": "Æ", "ae": "æ", "OE": "Œ",
            "oe": "œ", "ss": "ß", "DH": "Ð", "dh": "ð", "TH": "Þ", "th": "þ"}  # fmt: skip
_LONGEST_SYMBOL = 80
_ESCAPE = re.compile(
    r"\\u(?P<code>[0-9A-Fa-f]{4})|\\(?P<sign>[\\%&])|&#?\w{1,8};"
    rf"|\\(?P<letter>{'|'.join(_LETTERS)})"
    r"|\\(?P<accent>[`'^~\"cuvH])(?P<under>[A-Za-z])"
)


def read_text(text: str) -> str:
    """Return the text of a field with the escapes of ABC 2.1 (section 8.2) resolved."""
    return " ".join(_ESCAPE.sub(_plain, text).split())


def _plain(match: re.Match[str]) -> str:
    if match["code"]:
        return chr(int(match["code"], 16))
    if match["accent"]:
        accented = unicodedata.normalize("NFC", match["under"] + _ACCENTS[match["accent"]])
        return accented if len(accented) == 1 else match[0]
    return match["sign"] or _LETTERS.get(match["letter"] or "") or html.unescape(match[0])


def symbol_of(text: str) -> str:
    """Return a chord string as a symbol: escapes resolved, and a bass letter made upper case.

    ABC files often write ``Am/c``; after the slash there stands nothing but a note.
    """
    plain = read_text(text) if "\\" in text or "&" in text else text
    return re.sub(r"/([a-g])(?=[#b♯♭]?\)?\s*$)", lambda bass: bass[0].upper(), plain)


def without_alternative(text: str) -> tuple[str, str]:
    """Part ``G(Em)`` into the regular chord and its alternative (ABC 2.1, section 4.18).

    The alternative is empty where no chord in parentheses ends the text.
    """
    if len(text) > _LONGEST_SYMBOL:
        return text, ""
    match = re.fullmatch(r"\s*([^\s(].*?)\s*\(\s*([A-G].*?)\s*\)\s*", text)
    return (match[1], match[2]) if match else (text, "")


def written_text(text: str) -> str:
    """Return text such that ``read_text`` gives it back."""
    return " ".join(text.split()).translate(_ESCAPES)


def accidental_of(sign: str) -> int:
    """Return the alteration in semitones of ``^ ^^ _ __ =``."""
    return _ACCIDENTALS[sign]
