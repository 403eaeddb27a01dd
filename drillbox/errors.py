"""Failures that a player can fix, each with its exit code and its remedy."""

from __future__ import annotations

from enum import IntEnum


class ExitCode(IntEnum):
    """What the shell is told; the README lists them."""

    OK = 0
    INTERNAL = 1
    USAGE = 2
    BAD_INPUT = 3
    NOT_FOUND = 4
    STORE = 5
    INTERRUPTED = 130


UPDATE = "Bring drillbox up to date here too: pip install . in a copy of its newest version."
"""The remedy for what a newer drillbox wrote."""


class DrillboxError(Exception):
    """One clear line for stderr: what went wrong, where, and what to do.

    ``what`` says what is wrong (and where); ``remedy`` says what to do about it.
    """

    exit_code = ExitCode.INTERNAL

    def __init__(self, what: str, remedy: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.remedy = remedy

    def line(self) -> str:
        """Return the failure as one line."""
        text = self.what if not self.remedy else f"{self.what.rstrip('.')}. {self.remedy}"
        return " ".join(text.split())


class BadInput(DrillboxError):
    """Something typed or read from a file can't be used."""

    exit_code = ExitCode.BAD_INPUT


class NotFound(DrillboxError):
    """A phrase or file that was named isn't there."""

    exit_code = ExitCode.NOT_FOUND


class StoreFailure(DrillboxError):
    """The store can't be opened, read or written."""

    exit_code = ExitCode.STORE


class NotKnown(StoreFailure):
    """The store didn't answer, so that it isn't known whether a change was stored."""


class Overtaken(StoreFailure):
    """A rating can't be taken back as another stands on it; trying again won't help."""

    def __init__(self) -> None:
        super().__init__(
            "This key was rated in another session meanwhile", "Your rating of it stays as it is."
        )


class Interrupted(DrillboxError):
    """The player broke off (Ctrl-C or end of input) before anything was stored."""

    exit_code = ExitCode.INTERRUPTED
