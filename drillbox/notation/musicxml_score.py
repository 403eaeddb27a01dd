"""What a MusicXML score says as a whole (parts, title, key, tempo), and how long things last."""

from __future__ import annotations

import re
from fractions import Fraction
from xml.etree.ElementTree import Element, SubElement

from drillbox.errors import BadInput
from drillbox.music.charts import Meter
from drillbox.music.keys import Key, Mode
from drillbox.music.pitch import Interval, name_at
from drillbox.notation.musicxml_symbols import NEAR, read_whole_number
from drillbox.notation.musicxml_tree import text_of
from drillbox.notation.sheet import MODES, Findings, Place, named

# The type element, in quarter notes.
_TYPES = {
    name: Fraction(4) / 2**power
    for power, name in enumerate(
        ("whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th", "256th")
    )
} | {"breve": Fraction(8)}


def read_decimal(text: str, *, signed: bool = False) -> Fraction:
    """Read a decimal number; raise BadInput where it is none (NaN, a sign, an exponent)."""
    sign = r"[+-]?" if signed else r"\+?"
    if not re.fullmatch(rf"{sign}\d{{1,9}}(?:\.\d{{0,6}})?", text):
        raise BadInput(f"{text[:20]!r} isn't a duration", "Durations are positive numbers.")
    return Fraction(text)


def length_of(note: Element, divisions: Fraction) -> Fraction:
    """Return a note's, backup's or forward's duration in quarter notes.

    Where the duration differs from the length as drawn by no more than rounding to whole
    divisions does (a triplet's 341 of 1024), the drawn length is meant.
    """
    length = read_decimal(text_of(note, "duration")) / divisions
    drawn = _drawn(note)
    if drawn is not None and abs(drawn - length) < min(NEAR, 1 / divisions):
        return drawn
    return length


def _drawn(note: Element) -> Fraction | None:
    base = _TYPES.get(text_of(note, "type"))
    if base is None:
        return None
    dots = len(note.findall("dot"))
    length: Fraction = base * (2 - Fraction(1, 1 << min(dots, 4)))
    tuplet = note.find("time-modification")
    if tuplet is not None:
        normal = read_whole_number(text_of(tuplet, "normal-notes"), 999)
        actual = read_whole_number(text_of(tuplet, "actual-notes"), 999)
        if normal < 1 or actual < 1:
            raise BadInput("a tuplet has no sound numbers")
        length = length * normal / actual
    return length


def read_time(time: Element) -> Meter | None:
    """Read a time element; None for music without meter. Additive meters are added up."""
    if time.find("senza-misura") is not None:
        return None
    beats = [text.text or "" for text in time.findall("beats")]
    units = {(text.text or "").strip() for text in time.findall("beat-type")}
    parts = [part.strip() for text in beats for part in text.split("+")]
    if len(units) != 1 or not all(re.fullmatch(r"\d{1,2}", part) for part in parts):
        raise BadInput("the time signature is not read", "Use one such as 4/4.")
    total, unit = sum(int(part) for part in parts), read_whole_number(next(iter(units)), 64)
    if not 1 <= total <= 64 or unit not in (1, 2, 4, 8, 16, 32, 64):
        raise BadInput("the time signature is not read", "Use one such as 4/4.")
    return Meter(total, unit)


_TOP = Place()
_BEATS = {
    "whole": Fraction(4), "half": Fraction(2), "quarter": Fraction(1),
    "eighth": Fraction(1, 2), "16th": Fraction(1, 4),
}  # fmt: skip


def partwise(root: Element) -> Element:
    """Return the score by parts; one by measures (``score-timewise``) is turned round."""
    if root.tag == "score-partwise":
        return root
    if root.tag != "score-timewise":
        raise BadInput(f"it isn't a MusicXML score but <{root.tag[:40]}>", "Use a MusicXML score.")
    parts: dict[str, Element] = {}
    for measure in root.findall("measure"):
        for part in measure.findall("part"):
            name = part.get("id", "")
            turned = parts.setdefault(name, Element("part", id=name))
            SubElement(turned, "measure", measure.attrib).extend(part)
    root.extend(parts.values())
    return root


def part_names(root: Element) -> dict[str, str]:
    """Return the id of each part that has music, with the name that the player sees."""
    listed = {each.get("id", ""): each for each in root.iter("score-part")}
    names: dict[str, str] = {}
    for part in root.findall("part"):
        each = part.get("id", "")
        named = text_of(listed[each], "part-name") if each in listed else ""
        names[each] = " ".join(named.split()) or each
    return names


def chosen_part(names: dict[str, str], wanted: str | None) -> str:
    """Return the id of the part asked for, by id or name; the first where none is wanted."""
    if not names:
        raise BadInput("the score has no part")
    if wanted is None:
        return next(iter(names))
    if (chosen := named(names, wanted)) is None:
        raise BadInput(f"it has no part {wanted!r}", f"Its parts: {', '.join(names.values())}.")
    return chosen


def title_of(root: Element) -> str:
    """Return the movement's title, else the work's, else the one printed on the page, else nothing.

    Some writers fill in only the last, a ``credit`` of the type ``title``.
    """
    printed = (each for each in root.findall("credit") if text_of(each, "credit-type") == "title")
    titles = (
        text_of(root, "movement-title"),
        text_of(root, "work/work-title"),
        *(text_of(each, "credit-words") for each in printed),
    )
    return " ".join(next(filter(None, titles), "").split())


def written_key(written: Element) -> Key:
    """Return the key on the page, major where it names no mode; BadInput where it isn't read."""
    fifths = read_whole_number(text_of(written, "fifths"), 7)
    mode = _mode_of(written) or "major"
    return Key(name_at(fifths)).relative(mode)


def _mode_of(written: Element) -> Mode | None:
    return MODES.get(text_of(written, "mode").lower()[:3])


def key_of(
    written: Element | None, interval: Interval, given: Key | None, findings: Findings
) -> Key | None:
    """Return the sounding key of a part; note what is wrong or doubtful about it.

    ``given`` is the key on the page as the player has it.
    """
    if written is None or written.find("fifths") is None:
        if given is None:
            findings.problem(_TOP, "it has no key signature; add the key with --key")
        on_page = given
    else:
        try:
            on_page = written_key(written)
        except BadInput as wrong:
            findings.problem(_TOP, f"the key signature is not read: {wrong.line()}")
            return None
        if not _mode_of(written):
            on_page = _key_without_mode(on_page, given, findings)
    return on_page and on_page.up(interval)


def _key_without_mode(major: Key, given: Key | None, findings: Findings) -> Key:
    """Return major, unless the player named a key that has this signature."""
    minor = major.relative("minor")
    if given is not None and given in (major, minor):
        return given
    findings.doubt(
        _TOP, f"the key signature names no mode: read as {major.text()} major, "
        f"not {minor.tonic.text()} minor"
    )  # fmt: skip
    return major


def tempo_of(root: Element, findings: Findings) -> Fraction | None:
    """Return the first tempo of the score in quarter notes a minute; None: it has none."""
    try:
        tempi = [
            read_decimal(each.get("tempo", "")) for each in root.iter("sound") if each.get("tempo")
        ]
        if not tempi:
            marks = [_metronome(each, findings) for each in root.iter("metronome")]
            tempi = [mark for mark in marks if mark is not None]
    except BadInput:
        findings.problem(_TOP, "the tempo is not read; write one such as a quarter note = 132")
        return None
    if len(set(tempi)) > 1:
        findings.doubt(_TOP, "the tempo changes; the phrase keeps its first tempo")
    return tempi[0] if tempi else None


def _metronome(metronome: Element, findings: Findings) -> Fraction | None:
    """Return a mark's tempo; its beats a minute may be a text with one number (``ca. 132``)."""
    beat = _BEATS.get(text_of(metronome, "beat-unit"))
    said = text_of(metronome, "per-minute")
    if beat is None or not said or len(metronome.findall("beat-unit")) != 1:
        return None
    numbers = re.findall(r"\d+(?:\.\d+)?", said)
    minute = numbers[0] if len(numbers) == 1 and re.search("[A-Za-z~≈]", said) else said
    if minute != said:
        findings.doubt_once(_TOP, f"the tempo {said[:20]!r} is read as {minute[:20]}")
    dots = len(metronome.findall("beat-unit-dot"))
    return beat * (2 - Fraction(1, 2 ** min(dots, 3))) * read_decimal(minute)
