"""A round as its beat goes on, without a clock."""

from __future__ import annotations

from drillbox.music.pulse import Position
from drillbox.player.in_round import InRound


def at(played: InRound, beats: float) -> None:
    """Let so many beats go by since the count-in began, of which four are counted in."""
    if played.beats_now is None:
        played.pulse()
    played.beats_now = lambda: beats
    bar, beat = divmod(int(beats) - 4, 4)
    played.follow(Position(bar < 0, 0, max(bar, 0), beat % 4))
