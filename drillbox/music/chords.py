"""A chord symbol as one value: spelled root, MusicXML kind, degrees and bass.

Reading and printing symbols is the business of ``symbols/``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from drillbox.music.pitch import Name

Action = Literal["add", "alter", "subtract"]


@dataclass(frozen=True, slots=True)
class Degree:
    """One ``<degree>`` of MusicXML 4.0: what is done to which degree, altered by how much."""

    action: Action
    number: int
    alter: int = 0


@dataclass(frozen=True, slots=True)
class Chord:
    """One chord symbol. ``kind`` is a kind-value of the W3C MusicXML 4.0 schema."""

    root: Name
    kind: str
    degrees: tuple[Degree, ...] = ()
    bass: Name | None = None
