"""From a round to what its screen says."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.screen.bars import Sounding
from drillbox.screen.round import Mark, Place, RoundView

if TYPE_CHECKING:
    from drillbox.music.pulse import Position
    from drillbox.practice.rounds import Round


def view(
    session: Round,
    index: int,
    message: str = "",
    position: Position | None = None,
    beats: int = 0,
    *,
    loop: int = 0,
) -> RoundView:
    """Return what the screen says of one key of a round.

    ``position`` is the beat that fell last while it runs, its bar counted from the beginning
    of the chart; ``beats`` how many a bar has; ``loop`` how often the key was played before.
    """
    leg = session.legs[index]
    counting = position is not None and position.count_in
    return RoundView(
        title=leg.read.title,
        places=tuple(Place(each.key, mark(session, n)) for n, each in enumerate(session.legs)),
        current=index,
        chart=leg.on if loop + 1 >= session.loops else leg.back,
        tempo=session.tempo,
        double_time=leg.read.double_time,
        asking=session.at == len(session.legs),
        message=message,
        sounding=Sounding(-1 if counting else position.bar, position.beat, beats)
        if position
        else None,
        count=position.beat + 1 if position and counting else 0,
    )


def mark(session: Round, index: int) -> Mark:
    """Return what has become of a key."""
    recall = session.recall_of(index)
    if recall is not None:
        words: dict[str, Mark] = {
            "lost": "lost", "rough": "rough", "clean": "clean", "fluent": "fluent",
        }  # fmt: skip
        return words[recall.word]
    if session.is_left(index):
        return "left"
    return "to rate" if index < session.at else ""
