"""What each note of a line is, worked out by beat, direction and resolution."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from drillbox.music.analysis.implied import Implied, implied_harmony
from drillbox.music.analysis.line_in_chart import Line, Scales
from drillbox.music.analysis.motion import (
    Enclosure,
    Side,
    approach_notes,
    arpeggios,
    chromatic_notes,
    enclosures,
    passing_notes,
    scale_runs,
)
from drillbox.music.analysis.targets import is_guide_tone, targets
from drillbox.music.chords import is_dominant
from drillbox.music.heard import is_chord_tone
from drillbox.music.pitch import Name


class Role(StrEnum):
    """What a note can be; of several, the first in this order is its main role."""

    TARGET = "target"
    IMPLIED = "implied harmony"
    ENCLOSURE = "enclosure"
    PASSING = "passing"
    APPROACH = "approach"
    GUIDE_TONE = "guide tone"
    CHORD_TONE = "chord tone"
    TENSION = "tension"
    OUTSIDE = "outside"
    ARPEGGIO = "arpeggio"
    SCALE_RUN = "scale run"


@dataclass(frozen=True, slots=True)
class Motion:
    """Which notes of a line (indices) move how; the rules stand in ``motion`` and ``targets``."""

    aimed: frozenset[int]
    chromatic: frozenset[int]
    implied: tuple[Implied, ...]
    enclosures: tuple[Enclosure, ...]
    passing: frozenset[int]
    approaches: Mapping[int, Side]
    arpeggios: tuple[tuple[int, ...], ...]
    scale_runs: frozenset[int]


def motion_of(line: Line, scales: Scales, tonic: Name) -> Motion:
    """Work out what a line aims at and how it moves there, in a key on a tonic."""
    chromatic = chromatic_notes(line, scales)
    stated = implied_harmony(line, scales, tonic)
    aimed = targets(line, stated)
    return Motion(
        aimed,
        chromatic,
        stated,
        enclosures(line, aimed, chromatic),
        passing_notes(line),
        approach_notes(line, aimed, chromatic),
        arpeggios(line),
        frozenset(i for run in scale_runs(line) for i in run),
    )


def roles_of(line: Line, index: int, motion: Motion) -> tuple[Role, ...]:
    """Return a note's roles, the main one first.

    A part of an enclosure or of an implied harmony is called neither passing nor approach, a
    passing note no approach. A chord tone that is a guide tone is called both. A note that is
    no chord tone and does none of these is a tension if the scale of its chord has it, or if it
    is one of a dominant's altered tensions (b9 #9 #11 b13, common practice), else outside. Over
    no chord a note has only the roles that its motion gives it.
    """
    found = [Role.TARGET] if index in motion.aimed else []
    stated = any(index in each.notes for each in motion.implied)
    encloses = any(index in each.notes for each in motion.enclosures)
    found += [Role.IMPLIED] * stated + [Role.ENCLOSURE] * encloses
    moves = True
    if stated or encloses:
        pass
    elif index in motion.passing:
        found.append(Role.PASSING)
    elif index in motion.approaches:
        found.append(Role.APPROACH)
    else:
        moves = False
    if is_chord_tone(line.chord(index), line.notes[index]):
        found += [Role.GUIDE_TONE] * is_guide_tone(line, index) + [Role.CHORD_TONE]
    elif line.chord(index) and not moves:
        outside = index in motion.chromatic and not _altered_tension(line, index)
        found.append(Role.OUTSIDE if outside else Role.TENSION)
    found += [Role.ARPEGGIO] * any(index in run for run in motion.arpeggios)
    found += [Role.SCALE_RUN] * (index in motion.scale_runs)
    return tuple(found)


def _altered_tension(line: Line, index: int) -> bool:
    chord = line.chord(index)
    if chord is None or not is_dominant(chord):
        return False
    above = line.notes[index].pitch.name.pitch_class - chord.root.pitch_class
    return above % 12 in {1, 3, 6, 8}
