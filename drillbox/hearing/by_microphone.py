"""Sound judged: notes by the tracker, then a second look at its slips with the line known."""

from __future__ import annotations

from dataclasses import replace

from drillbox.hearing.expected import Expected
from drillbox.hearing.judging import Judgement, judge, passes
from drillbox.hearing.notes import notes_of
from drillbox.hearing.rating_rules import Word
from drillbox.hearing.second_look import certain, look_again
from drillbox.hearing.takes import Beat, Take
from drillbox.hearing.tracker import Frames

WORTH_IT = 0.58
"""Accuracy of a pass below which a second look would only read the line into noodling."""


def judge_sound(
    line: Expected, found: Frames, beat: Beat | None, loops: int | None = None
) -> Judgement:
    """Return the judgement on an attempt that was heard by microphone."""
    take = Take(notes_of(found), "microphone", beat)
    slips = 0
    for heard in passes(line, take, loops):
        slips += heard.slips
        if heard.slips and heard.accuracy >= WORTH_IT:
            take = replace(take, notes=look_again(heard, take.notes, found))
    judgement = judge(line, take, loops)
    return replace(judgement, other=_other(judgement, found, slips))


def _other(judgement: Judgement, found: Frames, slips: int) -> Word | None:
    """Return the word that would do as well where one slip may be the sound's, not the player's.

    ``slips`` is how many the first hearing found.
    """
    heard = judgement.heard
    if judgement.word == "fluent":
        return "clean" if slips == 1 else None
    alone = judgement.word == "clean" and set(judgement.causes) == {"notes"}
    if heard is None or not alone or heard.slips != 1 or certain(heard, found):
        return None
    return "fluent"
