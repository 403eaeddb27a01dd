"""An analysis as plain JSON values, for a row: exact, and quick to read back.

Fractions are text (``"5/2"``); what is empty at the end of a list is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Any, TypeVar

from drillbox.music.analysis.cautions import Caution, CautionKind
from drillbox.music.analysis.implied import Implied
from drillbox.music.analysis.motion import Enclosure
from drillbox.music.analysis.numerals import Function
from drillbox.music.analysis.roles import Role
from drillbox.music.analysis.scales import Pairing
from drillbox.music.analysis.whole import Analysis, ChordFacts, NoteFacts
from drillbox.music.pitch import Interval

RULES = 7
"""What an analysis was made by: raised whenever another one would be made of the same phrase."""
_T = TypeVar("_T")


def analysis_json(analysis: Analysis) -> dict[str, Any]:
    """Return the analysis as a dict of lists that ``json.dumps`` takes as it is."""
    return {
        "rules": RULES,
        "subdivision": str(analysis.subdivision),
        "chords": [_chord_json(each) for each in analysis.chords],
        "notes": [_note_json(each) for each in analysis.notes],
        "enclosures": [
            [list(each.notes), each.landing, each.chromatic] for each in analysis.enclosures
        ],
        "arpeggios": [list(run) for run in analysis.arpeggios],
        "implied": [
            [list(each.notes), each.kind, each.span, each.root, each.resolution, each.quality]
            for each in analysis.implied
        ],
        "cautions": [[str(each.kind), each.text, each.span] for each in analysis.cautions],
    }


def is_current(value: dict[str, Any]) -> bool:
    """Return whether an analysis was made by today's rules; an older one is recomputed."""
    return value.get("rules") == RULES


def analysis_from(value: dict[str, Any]) -> Analysis:
    """Return the analysis that ``analysis_json`` wrote; raise ValueError if it is none."""
    try:
        return Analysis(
            tuple(_chord_from(each) for each in value["chords"]),
            tuple(_note_from(each) for each in value["notes"]),
            tuple(
                Enclosure(tuple(notes), at, outside) for notes, at, outside in value["enclosures"]
            ),
            tuple(Caution(CautionKind(kind), text, at) for kind, text, at in value["cautions"]),
            Fraction(value["subdivision"]),
            tuple(tuple(run) for run in value["arpeggios"]),
            tuple(Implied(tuple(notes), *rest) for notes, *rest in value["implied"]),
        )
    except (LookupError, TypeError, AttributeError, ArithmeticError) as error:
        raise ValueError(f"no analysis: {error}") from error


def _chord_json(facts: ChordFacts) -> list[Any]:
    function, pairing = facts.function, facts.pairing
    return _trimmed(
        facts.bar,
        str(facts.beat),
        facts.begins,
        [pairing.scale, list(pairing.also), pairing.source] if pairing else None,
        _function_json(function) if function else None,
    )


def _chord_from(value: Sequence[Any]) -> ChordFacts:
    bar, beat, begins, pairing, function = _padded(value, 5)
    return ChordFacts(
        bar,
        Fraction(beat),
        bool(begins),
        _maybe(_function_from, function),
        _maybe(lambda it: Pairing(it[0], tuple(it[1]), it[2]), pairing),
    )


def _function_json(function: Function) -> list[Any]:
    replaced = function.replaces
    return _trimmed(
        function.roman,
        function.role,
        function.turnaround,
        function.aims,
        [replaced.steps, replaced.semitones] if replaced else None,
        function.becomes_minor,
        function.note,
        function.from_minor,
        [function.local.steps, function.local.semitones] if function.local else None,
    )


def _function_from(value: Sequence[Any]) -> Function:
    roman, role, turnaround, aims, replaced, becomes_minor, note, dark, local = _padded(value, 9)
    return Function(
        roman or "",
        role,
        note or "",
        aims,
        _maybe(lambda it: Interval(*it), replaced),
        bool(becomes_minor),
        bool(turnaround),
        bool(dark),
        _maybe(lambda it: Interval(*it), local),
    )


def _note_json(facts: NoteFacts) -> list[Any]:
    return _trimmed(
        facts.bar,
        str(facts.beat),
        facts.span,
        facts.degree,
        [str(role) for role in facts.roles],
        facts.chromatic,
        facts.side,
        str(facts.arrival) if facts.arrival is not None else None,
    )


def _note_from(value: Sequence[Any]) -> NoteFacts:
    bar, beat, span, degree, roles, chromatic, side, arrival = _padded(value, 8)
    return NoteFacts(
        bar,
        Fraction(beat),
        span,
        degree,
        tuple(Role(role) for role in roles or ()),
        bool(chromatic),
        side,
        _maybe(Fraction, arrival),
    )


def _trimmed(*values: Any) -> list[Any]:
    kept = list(values)
    while kept and (kept[-1] is None or kept[-1] is False or kept[-1] in ("", [])):
        kept.pop()
    return kept


def _padded(values: Sequence[Any], size: int) -> list[Any]:
    return [*values, *[None] * (size - len(values))]


def _maybe(read: Callable[[Any], _T], value: Any) -> _T | None:
    return None if value is None else read(value)
