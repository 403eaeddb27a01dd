"""The ear of a session: opened once, open while an attempt goes, judged when it is over."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from drillbox.hearing.takes import Overheard
    from drillbox.practice.preferences import Preferences
    from drillbox.terminal.ears import Ear

QUIET = 2.0
"""Seconds without a note after which an attempt in the player's own time is over, by MIDI."""
SLOWER = 1.5
"""How many times as long as written a note may be held, or a rest, before it is the end."""
FEWEST = 4
"""Notes that make an attempt; fewer are a try of the first ones."""
NOTHING = "Nothing was heard."


class Proposes(Protocol):
    """A session that what was heard is taken to."""

    def propose(self, overheard: Overheard, first_bar: float | None) -> str:
        """Work out what is proposed; ``first_bar`` is on the monotonic clock."""


class Listening:
    """One ear for a session; without one, or where listening is off, nothing is heard."""

    def __init__(self, preferences: Preferences) -> None:
        self._preferences = preferences
        self._ear: Ear | None = None
        self._tried = self._told = False

    def news(self) -> str:
        """Open the ear, once a session; return, once, why it can't be or doesn't hear any more."""
        kind = self._preferences.listen
        if not self._tried and kind != "off":
            self._tried = True
            from drillbox.terminal.ears import open_ear  # only for one who wants to be heard

            self._ear = open_ear(kind, self._preferences.listen_to)
        if self._told or self._ear is None or not self._ear.problem:
            return ""
        self._told = True
        return self._ear.problem

    @property
    def on(self) -> bool:
        """Return whether there is an ear that still hears."""
        return self._ear is not None and not self._ear.problem

    @property
    def by_microphone(self) -> bool:
        """Return whether that ear is a microphone."""
        return self.on and self._preferences.listen == "mic"

    def begin(self) -> None:
        """Forget what was heard; an attempt begins."""
        if self._ear:
            self._ear.begin()

    def fell_quiet(self, rest_after: Callable[[Sequence[int]], float]) -> bool:
        """Return whether something was played and is over, in the player's own time.

        ``rest_after`` returns for how many seconds at most no note begins after those played.
        """
        quiet = self._ear.quiet_for() if self._ear else None
        if self._ear is None or quiet is None or quiet < QUIET:
            return False
        played = [note for _, _, note in self._ear.heard().notes]
        return len(played) >= FEWEST and quiet >= SLOWER * rest_after(played)

    def judge(self, session: Proposes, first_bar: float | None) -> str:
        """Take what was heard to a session; return what is to be said besides its proposal."""
        if self._ear is None:
            return ""
        overheard = self._ear.heard()
        self._ear.begin()
        return session.propose(overheard, first_bar) if self.on else self.news()

    def close(self) -> None:
        """Release the device."""
        if self._ear:
            self._ear.close()
