"""A card's whole state, its tempo ladder, and the one step that an attempt takes it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import NamedTuple

from drillbox.memory.recall import MemoryState, Recall, after
from drillbox.memory.rules import Rules, TempoRules

SHORTEST, FIRST_STRIDE, LONGEST = 1, 2, 6  # in half rungs: half a rung at the edge, three far off


class TempoState(NamedTuple):
    """How far a card has climbed, in quarter notes a minute, and how far the next clean go
    carries it: ``stride`` in half rungs."""

    tempo: int
    stride: int = FIRST_STRIDE


def first_tempo(goal: int, rules: TempoRules) -> int:
    """Return the tempo of a card's first attempt: a share of the goal, to the nearest bpm."""
    return within(int(goal * rules.start_tempo + 0.5), goal, rules)


def rung(goal: int, rules: TempoRules) -> int:
    """Return one rung in whole quarter notes a minute, 1 at least: a share of the goal."""
    return _half_rungs(2, goal, rules)


def next_tempo(
    state: TempoState, played: int, recall: Recall, goal: int, rules: TempoRules
) -> TempoState:
    """Return the ladder's place after a go at ``played``.

    A clean go carries the card one stride beyond what was played and lengthens the stride by
    half a rung, a fluent one by a whole one: where it goes easily the steps grow. A rough go
    goes down half a rung, a lost one a rung, whatever was played, as what is forgotten at a slow
    tempo isn't forgotten by the fingers; both make the stride the shortest, so that the steps are
    small near the edge. A clean go that far below the card's own place that its stride ends under
    it leaves it there, and so does a rough one above it.
    """
    tempo, stride = state
    if recall >= Recall.CLEAN:
        climbed = played + _half_rungs(stride, goal, rules)
        longer = min(LONGEST, stride + (2 if recall is Recall.FLUENT else 1))
        return TempoState(within(max(tempo, climbed), goal, rules), longer)
    down = 2 if recall is Recall.LOST else int(played <= tempo)
    fallen = tempo - _half_rungs(down, goal, rules) if down else tempo
    return TempoState(within(fallen, goal, rules), SHORTEST)


def moved_tempo(tempo: int, rungs: int, goal: int, rules: TempoRules) -> int:
    """Return a tempo some rungs faster or slower, never over goal nor under the floor."""
    return within(tempo + rungs * rung(goal, rules), goal, rules)


def within(tempo: int, goal: int, rules: TempoRules) -> int:
    """Keep a tempo at or over the floor and, before all else, at or under the goal."""
    return min(goal, max(rules.slowest_tempo, tempo))


def _half_rungs(count: int, goal: int, rules: TempoRules) -> int:
    return max(1, int(goal * rules.tempo_step * count / 2 + 0.5))


class CardState(NamedTuple):
    """What is known of a card; ``memory`` and ``due`` are None before its first attempt.

    ``days_clean`` and ``days_missed`` count the days whose first go was clean (or better) or
    not, ``clean_run`` those clean in a row up to now, ``goal_run`` those of them at goal tempo.
    """

    memory: MemoryState | None
    tempo: TempoState
    attempts: int = 0
    due: date | None = None
    days_clean: int = 0
    days_missed: int = 0
    clean_run: int = 0
    goal_run: int = 0
    owned: bool = False


class Attempted(NamedTuple):
    """One attempt as the log keeps it: everything the next state depends on.

    ``tempo`` is the one that was shown and rated, ``hint`` the highest hint that was seen
    (0 to 3), ``due`` the day that was chosen then; ``in_round`` where it was part of a round;
    ``goal`` the phrase's goal tempo then, None for the present one.
    """

    day: date
    recall: Recall
    tempo: int
    hint: int
    due: date
    in_round: bool = False
    goal: int | None = None


OWNING_GOES = 2  # cold clean goes at goal tempo in a row, on days of their own, that own a card


def untried(goal: int, rules: Rules) -> CardState:
    """Return the state of a card that was never attempted; ``goal`` is its goal tempo."""
    return CardState(None, TempoState(first_tempo(goal, rules.tempo)))


LAST_HINT = 3  # it names the notes


def counted_recall(recall: Recall, hint: int) -> Recall:
    """Return what a rating counts for: rough at best once the third hint has named the notes."""
    return min(recall, Recall.ROUGH) if hint >= LAST_HINT else recall


def is_cold(state: CardState, day: date) -> bool:
    """Return whether a go on a day is the card's first of it.

    A day before the last one counts as a separate day: the clock was ahead then.
    """
    return state.memory is None or day != state.memory.last_day


def rate(state: CardState, attempted: Attempted, goal: int, rules: Rules) -> CardState:
    """Return the state after an attempt.

    The first go of a day is the cold one: it alone moves the memory, the due day and what is
    owned. Every go moves the tempo, by the goal of its time: a later goal keeps what was reached.
    """
    recall = counted_recall(attempted.recall, attempted.hint)
    then = attempted.goal or goal
    moved = state._replace(
        tempo=_tempo_after(_up_to(state.tempo, then, rules), attempted, recall, then, rules),
        attempts=state.attempts + 1,
    )
    if not is_cold(state, attempted.day):
        return moved
    clean = recall >= Recall.CLEAN
    at_goal = attempted.tempo >= goal
    cold = moved._replace(
        memory=after(state.memory, recall, attempted.day, rules.weights),
        due=attempted.due,
        days_clean=state.days_clean + clean,
        days_missed=state.days_missed + (not clean),
        clean_run=state.clean_run + 1 if clean else 0,
        goal_run=state.goal_run + at_goal if clean else 0,
    )
    return cold._replace(owned=_owned_after(state, cold, rules))


def _owned_after(before: CardState, now: CardState, rules: Rules) -> bool:
    """Return whether a card is owned after a day's first go.

    It becomes owned by two cold clean goes at goal tempo in a row with a memory that lasts
    ``owned_days``. It stays until two cold goes in a row aren't clean: of a card that comes out
    clean nine times in ten one go fails every tenth time, two running every hundredth.
    """
    assert now.memory is not None
    if before.owned:
        missed_before = before.clean_run == 0
        return not (now.clean_run == 0 and missed_before)
    return now.goal_run >= OWNING_GOES and now.memory.stability >= rules.owned_days


def _tempo_after(
    own: TempoState, attempted: Attempted, recall: Recall, goal: int, rules: Rules
) -> TempoState:
    """Return the ladder's place after an attempt.

    A round has one tempo for all its keys, set by the slowest: an attempt in one slower than
    the card's own moves the card only where it was lost.
    """
    if attempted.in_round and attempted.tempo < own.tempo and recall > Recall.LOST:
        return own
    return next_tempo(own, attempted.tempo, recall, goal, rules.tempo)


def replay(goal: int, attempts: Iterable[Attempted], rules: Rules) -> CardState:
    """Return the state that a card's attempts, in the order they were made, lead to."""
    return [untried(goal, rules), *states(goal, attempts, rules)][-1]


def states(goal: int, attempts: Iterable[Attempted], rules: Rules) -> Iterator[CardState]:
    """Yield the state after each of a card's attempts, in the order they were made.

    The tempo reached is at most the present ``goal``.
    """
    state = untried(goal, rules)
    for attempted in attempts:
        if state.memory is None:
            state = untried(attempted.goal or goal, rules)
        state = rate(state, attempted, goal, rules)
        yield state._replace(tempo=_up_to(state.tempo, goal, rules))


def _up_to(tempo: TempoState, goal: int, rules: Rules) -> TempoState:
    return tempo._replace(tempo=within(tempo.tempo, goal, rules.tempo))
