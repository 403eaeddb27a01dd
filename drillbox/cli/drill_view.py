"""From a drill session to what its screen says."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.cli.context import clock
from drillbox.screen.bars import Sounding
from drillbox.screen.drill import DrillView
from drillbox.screen.look import Look

if TYPE_CHECKING:
    from drillbox.music.pulse import Position
    from drillbox.practice.drilling import Drill, Showing


def view(
    session: Drill,
    showing: Showing,
    look: Look,
    message: str = "",
    position: Position | None = None,
    beats: int = 0,
) -> DrillView:
    """Return what the screen says of the card shown.

    ``position`` is the beat that fell last while it runs, ``beats`` how many a bar has.
    """
    card = showing.card
    hint = session.hint_view(ascii=look.ascii)
    counting = position is not None and position.count_in
    return DrillView(
        title=card.title,
        key=showing.read.key,
        chart=showing.read.chart,
        tempo=showing.tempo,
        double_time=card.double_time,
        minutes_left=session.minutes_left(clock()),
        hint=hint,
        note=card.note or "",
        message=message,
        sounding=Sounding(-1 if counting else position.bar, position.beat, beats)
        if position
        else None,
        count=position.beat + 1 if position and counting else 0,
    )
