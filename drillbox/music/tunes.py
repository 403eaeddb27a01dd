"""A tune as the player brings it: its chords, and how its form is put together."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from drillbox.errors import BadInput
from drillbox.music.charts import Chart
from drillbox.music.keys import Key

MOST_BARS = 256
_APART = ("intro", "coda")  # played once; the chorus is what is between them
_SECTION = re.compile(r"(intro|coda|[A-H])([1-9][0-9]{0,2})?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Section:
    """A part of a tune's form: ``A`` to ``H``, ``intro`` or ``coda``, and its bars."""

    name: str
    bars: int


@dataclass(frozen=True, slots=True)
class Tune:
    """A tune at concert pitch. ``tempo`` is in quarter notes a minute.

    ``form`` is empty where the player hasn't said; else its bars add up to the chart's.
    """

    title: str
    key: Key
    tempo: int
    chart: Chart
    form: tuple[Section, ...] = ()

    @property
    def chorus(self) -> tuple[int, int]:
        """Return the first bar of what is repeated, from 0, and the bar after its last."""
        count = len(self.chart.bars)
        inside = [(first, end) for name, first, end in self.sections() if name not in _APART]
        return (inside[0][0], inside[-1][1]) if inside else (0, count)

    def bars_played(self, choruses: int) -> tuple[int, ...]:
        """Return the numbers of its bars, from 0, as they are played: intro and coda once."""
        (first, end), bars = self.chorus, range(len(self.chart.bars))
        return (*bars[:first], *([*bars[first:end]] * choruses), *bars[end:])

    def sections(self) -> Iterator[tuple[str, int, int]]:
        """Yield each section's name, its first bar from 0, and the bar after its last."""
        at = 0
        for section in self.form:
            yield section.name, at, at + section.bars
            at += section.bars

    @property
    def bridge(self) -> str | None:
        """Return the name of the bridge: the one section that differs in an AABA form."""
        letters = [each.name for each in self.form if each.name not in _APART]
        if len(letters) == 4 and letters[0] == letters[1] == letters[3] != letters[2]:
            return letters[2]
        return None


def parse_form(text: str, bars: int) -> tuple[Section, ...]:
    """Read a form such as ``AABA`` or ``intro4 A8 A8 B8 A8 coda2`` for a chart of ``bars`` bars.

    Sections without a number share the bars that are left equally. Raise BadInput where it
    can't be read or doesn't add up.
    """
    matches = list(_SECTION.finditer(text))
    if re.sub(r"[\s-]", "", text) != "".join(match[0] for match in matches):
        raise _unread(f"Can't read the form {text[:40]!r}")
    open_sections = sum(match[2] is None for match in matches)
    left = bars - sum(int(match[2] or 0) for match in matches)
    share, over = divmod(left, open_sections) if open_sections else (0, left)
    if matches and (over or (open_sections and share < 1)):
        raise _unread(f"The form {text[:40]!r} doesn't add up to the chart's {bars} bars")
    return tuple(
        Section(name if (name := match[1].lower()) in _APART else match[1].upper(),
                int(match[2] or share))
        for match in matches
    )  # fmt: skip


def form_text(form: tuple[Section, ...]) -> str:
    """Return the form as ``parse_form`` reads it."""
    return " ".join(f"{each.name}{each.bars}" for each in form)


def _unread(what: str) -> BadInput:
    return BadInput(what, "Write AABA where all sections are as long, or intro4 A8 A8 B8 A8 coda2.")
