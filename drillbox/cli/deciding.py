"""What is decided about phrases that come in: key, turnaround, octaves; asked or said."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import replace
from typing import TYPE_CHECKING

from drillbox.cli.asking import asking, yes_or_no
from drillbox.cli.context import Asked
from drillbox.cli.waiting import waiting
from drillbox.output import tell

if TYPE_CHECKING:
    from drillbox.music.moving.octave_breaks import Breaks
    from drillbox.music.phrases import Phrase
    from drillbox.practice.preferences import Preferences
    from drillbox.tick import Tick

NAMED = 5
"""Phrases that are named where something was done to many."""


def decide_key(options: Asked, phrase: Phrase) -> Phrase:
    """Return a typed phrase, in the minor or major that its chart moves as where that is meant."""
    from drillbox.music.analysis.functions import moves_as
    from drillbox.screen.look import clean

    other = moves_as(phrase.chart, phrase.key)
    if other is None:
        return phrase
    title = clean(phrase.title, 40, ascii=options.look.ascii)
    given, meant = (key.text(ascii=options.look.ascii) for key in (phrase.key, other))
    said = f"{title} is given in {given} and moves as {meant}"
    if not options.terminal.interactive:
        tell(f"{said} (--key {other.text()}, if that is meant)")
        return phrase
    print(f"{said}.")
    taken = asking(f"Take it as {meant}? y/n", yes_or_no, None, "y")
    return replace(phrase, key=other) if taken else phrase


class Asking:
    """What the player is told and asked while phrases come in, on a terminal or in a pipe.

    ``turnaround`` and ``breaks`` are what was said about them beforehand, None for nothing.
    """

    def __init__(
        self,
        options: Asked,
        preferences: Preferences,
        *,
        turnaround: bool | None,
        breaks: bool | None,
    ) -> None:
        self._options, self._preferences = options, preferences
        self._turnaround, self._breaks = turnaround, breaks

    def taken_as_written(self, written: Phrase, sounding: Phrase) -> None:
        """Say on stderr that phrases were read in the written pitch of the instrument."""
        how = f"{written.key.text()} is concert {sounding.key.text()}"
        if sounding.key == written.key:
            how = "it sounds an octave lower"
        name = self._preferences.instrument.name
        tell(f"Read as written for {name}: {how} (--concert declines it)")

    def skipped(self, title: str) -> None:
        """Say on stderr that a phrase is left out."""
        tell(f"{self._clean(title)}: there is a phrase of this title already; this one is skipped")

    def turnarounds(self, read: Sequence[Phrase]) -> bool:
        """Ask once for all at a terminal; elsewhere say in one line what declines them."""
        if self._turnaround is False:
            return False
        lines = [(self._clean(each.title), self._chart(each)) for each in read]
        if self._turnaround is None and self._options.terminal.interactive:
            for title, chart in lines:
                print(f"{title} has no turnaround. Proposed: {chart}")
            what = "it" if len(lines) == 1 else "them"
            return asking(f"Take {what}? y/n", yes_or_no, None, "y")
        if lines:
            tell(
                f"{_added(lines)} (--no-turnaround declines {'it' if len(lines) == 1 else 'them'})"
            )
        return True

    def octave_breaks(self, phrase: Phrase, found: Breaks) -> bool:
        """Ask at a terminal; elsewhere decline, and say what takes them."""
        if self._breaks is not None:
            return self._breaks
        from drillbox.screen.doubts import break_text

        said = f"{self._clean(phrase.title)} leaves your instrument in {len(found)} of its keys. "
        said += "The octave could be broken: "
        said += break_text(found, phrase.chart.meter, self._options.look)
        if not self._options.terminal.interactive:
            tell(f"{said} (--octave-breaks takes it)")
            return False
        print(said)
        return asking("Take it? y/n", yes_or_no, None, "y")

    def carrying(self) -> AbstractContextManager[Tick]:
        """Show how far phrases were carried through their keys."""
        return waiting("Carrying through twelve keys")

    def _clean(self, title: str) -> str:
        from drillbox.screen.look import clean

        return clean(title, 40, ascii=self._options.look.ascii)

    def _chart(self, phrase: Phrase) -> str:
        from drillbox.music.symbols.printed import chart_text

        return chart_text(phrase.chart, ascii=self._options.look.ascii)


def _added(lines: Sequence[tuple[str, str]]) -> str:
    """Say to which phrases, by title and chart, a turnaround was added."""
    if len(lines) == 1:
        title, chart = lines[0]
        return f"{title}: turnaround added, {chart}"
    titles, more = ", ".join(title for title, _ in lines[:NAMED]), len(lines) - NAMED
    return f"Turnarounds added to {titles}{f' and {more} more' if more > 0 else ''}"
