"""Play order: repeats and numbered endings written out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from drillbox.errors import BadInput


@dataclass(frozen=True, slots=True)
class Mark:
    """The repeat signs of one measure.

    ``begins``: a repeated section begins here. ``plays``: how often the section that ends here
    is played (1: no repeat sign). ``endings``: passes on which the ending that begins here is
    played. ``closes``: a double bar or a repeat sign stands behind the measure.
    """

    begins: bool = False
    plays: int = 1
    endings: frozenset[int] = frozenset()
    closes: bool = False


def play_order(marks: Sequence[Mark], most: int) -> tuple[int, ...]:
    """Return the indexes of the measures in the order in which they are played.

    A repeat without a beginning goes back to the last repeat's end, to the last double bar, or
    to the start of the tune (ABC 2.1, section 4.8).
    Raises BadInput where more than ``most`` measures would be played.
    """
    order: list[int] = []
    start, turn, index = 0, 1, 0
    while index < len(marks):
        mark = marks[index]
        if mark.begins and index != start:
            start, turn = index, 1
        if mark.endings and turn not in mark.endings:
            index = _behind_ending(marks, index)
            if index < len(marks) and not marks[index].endings:
                start, turn = index, 1
            continue
        order.append(index)
        if len(order) > most:
            raise BadInput(
                f"with its repeats written out it has more than {most} bars",
                "Keep the bars that you need, or take some: drillbox add FILE --bars 5-8",
            )
        turns = _turns(marks, start, index)
        if mark.plays > 1 and turn < turns:
            index, turn = start, turn + 1
            continue
        if mark.plays > 1 or (mark.closes and (turns > 1 or not marks[start].begins)):
            start, turn = index + 1, 1
        index += 1
    return tuple(order)


def lasting_brackets(marks: Sequence[Mark]) -> tuple[tuple[Mark, ...], tuple[int, ...]]:
    """Return the marks with each early bracket lasting to its repeat sign, and where they begin.

    A first ending, or any that another one follows, needs a repeat sign. Where its bracket
    closes before, it means all the bars up to the sign (common practice).
    """
    lasted = list(marks)
    early: list[int] = []
    for index, mark in enumerate(marks):
        if not mark.endings:
            continue
        over = _behind_ending(marks, index)
        sign = _next_repeat_sign(marks, over)
        if marks[over - 1].plays > 1 or sign is None:
            continue
        if 1 in mark.endings or (sign + 1 < len(marks) and marks[sign + 1].endings):
            early.append(index)
            lasted[index:sign] = (replace(each, closes=False) for each in lasted[index:sign])
    return tuple(lasted), tuple(early)


def _next_repeat_sign(marks: Sequence[Mark], start: int) -> int | None:
    """Return the next measure that ends with one, if no ending or section begins before it."""
    for index, mark in enumerate(marks[start:], start=start):
        if mark.endings or mark.begins:
            return None
        if mark.plays > 1:
            return index
    return None


def without_pickup(
    marks: Sequence[Mark], lengths: Sequence[Fraction], bar: Fraction
) -> tuple[Mark, ...]:
    """Return the marks such that a pickup is not repeated where the repeat leaves it no room.

    A repeat sign without a beginning goes back to the start of the tune; where the bar before
    it is full, the pickup is written out in it, and the repeat begins behind the first one.
    """
    ends = next((index for index, mark in enumerate(marks) if mark.plays > 1), 0)
    begun = any(mark.begins for mark in marks[: ends + 1])
    if ends and not begun and lengths[0] < bar <= lengths[ends]:
        return (marks[0], replace(marks[1], begins=True), *marks[2:])
    return tuple(marks)


def _behind_ending(marks: Sequence[Mark], index: int) -> int:
    """Return where the ending that begins at ``index`` is over."""
    while index < len(marks):
        closes = marks[index].closes
        index += 1
        if closes or (index < len(marks) and (marks[index].endings or marks[index].begins)):
            break
    return index


def _turns(marks: Sequence[Mark], start: int, index: int) -> int:
    """Return how often the section from ``start`` is played, seen from the measure ``index``.

    Numbered endings say it; without them the repeat sign does. Endings that follow this
    measure's repeat sign belong to the section.
    """
    behind = index + 1
    while marks[index].plays > 1 and behind < len(marks) and marks[behind].endings:
        ending_over = _behind_ending(marks, behind)
        if ending_over < len(marks) and marks[ending_over].endings:
            behind = ending_over
            continue
        behind += 1
        break
    numbers = [number for mark in marks[start:behind] for number in mark.endings]
    return max([marks[index].plays, *numbers])
