"""What a written ABC note sounds like: signature, accidentals in the bar, ties, clef."""

from __future__ import annotations

from dataclasses import dataclass, field

from drillbox.music.pitch import Name, Pitch
from drillbox.notation.abc_fields import accidental_of
from drillbox.notation.abc_header import Header
from drillbox.notation.abc_tokens import WrittenNote


@dataclass(slots=True)
class Accidentals:
    """Remembers the accidentals of the bar, and a tie that carries one over its line."""

    header: Header
    _carried: dict[tuple[str, int | None], int] = field(default_factory=dict)
    _tied: Pitch | None = None
    _last: Pitch | None = None

    def written(self, note: WrittenNote) -> Pitch:
        """Return the pitch as written.

        Accidentals carry to the end of the bar, in all octaves unless the file says otherwise
        (ABC 2.1, section 11.3); over a tie also beyond it.
        """
        octave = None if self.header.propagate == "pitch" else note.octave
        if note.sign:
            alter = accidental_of(note.sign)
            if self.header.propagate != "not":
                self._carried[(note.letter, octave)] = alter
        elif self._tied and (self._tied.name.letter, self._tied.octave) == (
            note.letter,
            note.octave,
        ):
            alter = self._tied.name.alter
        else:
            signed = self.header.key.signature.get(note.letter, 0)
            alter = self._carried.get((note.letter, octave), signed)
        return Pitch(Name(note.letter, alter), note.octave)

    def passed(self, pitch: Pitch | None) -> None:
        """Go on behind a note, or a rest where ``pitch`` is None."""
        self._tied, self._last = None, pitch

    def tie(self) -> None:
        """Tie the last note to the next."""
        self._tied = self._last

    def end_bar(self) -> None:
        """Forget the accidentals of the bar."""
        self._carried.clear()
