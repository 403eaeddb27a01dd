"""Lets music21 read the notes of a cleaned part.

What music21 is given is written here from checked elements only: no kinds of chords, no text,
no layout, exact durations. So what it is known to read wrongly or unsafely never reaches it,
and its part of the work is what it does well: stacked notes, ties, grace notes, pitch spelling
and exact onsets. It is imported here only, for it takes 0.3 s.
"""

from __future__ import annotations

import socket
from collections.abc import Sequence
from fractions import Fraction
from math import lcm
from typing import Any
from xml.etree.ElementTree import Element, SubElement, tostring

from drillbox.errors import BadInput
from drillbox.music.pitch import Interval, Name, Pitch
from drillbox.notation.musicxml_score import read_decimal
from drillbox.notation.musicxml_symbols import read_whole_number
from drillbox.notation.musicxml_tree import text_of
from drillbox.notation.musicxml_walk import CleanNote, WalkedMeasure
from drillbox.notation.sheet import Findings, Sound
from drillbox.tick import Tick, silent

_FINEST = 65_535  # music21 keeps fractions up to this denominator
_AT_ONCE = 50  # measures a page: its time grows with the square of their number
_ACCENTS = ("accent", "strong-accent")


def read_notes(
    walked: Sequence[WalkedMeasure],
    interval: Interval,
    findings: Findings,
    tick: Tick = silent,
) -> list[tuple[Sound, ...]]:
    """Return the sounding notes of each measure, moved by the part's transposition.

    ``tick`` hears of measures read.
    """
    divisions = 1
    for measure in walked:
        for note in measure.notes:
            divisions = lcm(divisions, note.onset.denominator, note.length.denominator)
            if divisions > _FINEST:
                raise BadInput("the durations are too fine to be exact", "Quantise the notes.")
    starts = range(0, len(walked), _AT_ONCE)
    pages = [_page(walked[at : at + _AT_ONCE], divisions, findings) for at in starts]
    if findings.problems:
        return []
    found: list[tuple[Sound, ...]] = []
    for page in pages:
        tick(len(found), len(walked))
        there = walked[len(found) : len(found) + _AT_ONCE]
        found += [
            _sounds(measure, read, interval, findings)
            for measure, read in zip(there, _music21_measures(page), strict=True)
        ]
    return found


def _music21_measures(page: bytes) -> list[Any]:
    converter = _converter()
    try:
        score = converter.parseData(page, format="musicxml")
        return list(score.parts[0].getElementsByClass("Measure"))
    except Exception as wrong:  # whatever music21 raises, the file is what the player can fix
        raise BadInput(f"its notes can't be read ({type(wrong).__name__}: {wrong})") from wrong


def _converter() -> Any:
    """Return music21's readers, imported without opening a socket.

    A package that it brings along binds one on loopback to find out whether there is IPv6.
    """
    has = socket.has_ipv6
    socket.has_ipv6 = False
    try:
        from music21 import converter
    finally:
        socket.has_ipv6 = has
    return converter


def _sounds(
    walked: WalkedMeasure, measure: Any, interval: Interval, findings: Findings
) -> tuple[Sound, ...]:
    sounds: list[Sound] = []
    end = Fraction(0)
    for note in measure.flatten().notes:
        length = Fraction(0) if note.duration.isGrace else Fraction(note.quarterLength)
        onset = Fraction(note.offset)
        if onset < end:
            findings.problem(walked.place, "two notes of one voice sound at once")
        end = max(end, onset + length)
        if len(note.pitches) > 1:
            findings.doubt_once(walked.place, "of stacked notes only the top one is read")
        top = max(note.pitches, key=lambda pitch: pitch.midi)
        name = Name(top.step, int(top.alter))
        accented = any(type(mark).__name__ in _MARKS for mark in note.articulations)
        tie = note.getTie(top) if note.isChord else note.tie
        tied = tie is not None and tie.type in ("start", "continue")
        pitch = Pitch(name, top.octave).up(interval)
        target = accented and length > 0
        sounds.append(Sound(onset, length, pitch, walked.place, tied, target))
    return tuple(sounds)


_MARKS = ("Accent", "StrongAccent")


def _page(walked: Sequence[WalkedMeasure], divisions: int, findings: Findings) -> bytes:
    """Return a MusicXML document with nothing but the checked notes."""
    root = Element("score-partwise", version="4.0")
    listed = SubElement(SubElement(root, "part-list"), "score-part", id="P1")
    SubElement(listed, "part-name").text = "line"
    part = SubElement(root, "part", id="P1")
    for index, measure in enumerate(walked):
        element = SubElement(part, "measure", number=str(index + 1))
        if index == 0:
            attributes = SubElement(element, "attributes")
            SubElement(attributes, "divisions").text = str(divisions)
        cursor = Fraction(0)
        for note in measure.notes:
            try:
                cursor = _note(element, note, cursor, divisions)
            except BadInput as wrong:
                findings.problem(measure.place, wrong.line())
    return tostring(root)


def _note(parent: Element, clean: CleanNote, cursor: Fraction, divisions: int) -> Fraction:
    """Write a note at its onset; return where the next one would stand."""
    gap = clean.onset - cursor
    if gap and not clean.stacked:
        step = SubElement(parent, "forward" if gap > 0 else "backup")
        SubElement(step, "duration").text = str(int(abs(gap) * divisions))
    note = SubElement(parent, "note")
    if not clean.length:
        SubElement(note, "grace")
    if clean.stacked:
        SubElement(note, "chord")
    _pitch(note, clean.element)
    if clean.length:
        SubElement(note, "duration").text = str(int(clean.length * divisions))
    else:
        SubElement(note, "type").text = "eighth"
    _ties_and_accents(note, clean.element)
    return clean.onset + clean.length


def _pitch(note: Element, source: Element) -> None:
    step = text_of(source, "pitch/step")
    alter = text_of(source, "pitch/alter") or "0"
    octave = read_whole_number(text_of(source, "pitch/octave") or "-1", 9)
    if step not in tuple("ABCDEFG") or octave < 0:
        raise BadInput("a note has no pitch with step and octave")
    if read_decimal(alter, signed=True).denominator != 1:
        raise BadInput("quarter tones are not read")
    pitch = SubElement(note, "pitch")
    SubElement(pitch, "step").text = step
    SubElement(pitch, "alter").text = str(read_whole_number(alter, 2))
    SubElement(pitch, "octave").text = str(octave)


def _ties_and_accents(note: Element, source: Element) -> None:
    ties = [*source.findall("tie"), *source.findall("notations/tied")]
    notations = Element("notations")
    for kind in ("stop", "start"):
        if any(tie.get("type") == kind for tie in ties):
            SubElement(note, "tie", type=kind)
            SubElement(notations, "tied", type=kind)
    marks = [
        mark for mark in _ACCENTS if source.find(f"notations/articulations/{mark}") is not None
    ]
    if marks:
        SubElement(SubElement(notations, "articulations"), marks[0])
    if len(notations):
        note.append(notations)
