"""What each key does in a drill, on the screen and line by line alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.cli.context import clock
from drillbox.errors import StoreFailure
from drillbox.memory.recall import Recall
from drillbox.practice.drilling import NextUnread
from drillbox.screen.drill_keys import REST
from drillbox.terminal.presses import END, INTERRUPT, Press

if TYPE_CHECKING:
    from drillbox.practice.drilling import Drill
    from drillbox.practice.rating import Rated

RATING_LETTERS = frozenset(recall.letter for recall in Recall)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a key came to: a line to say, and whether the session, or its playing, is over."""

    message: str = ""
    over: bool = False
    rated: bool = False
    stopped: bool = False


def act(session: Drill, press: Press, *, ascii: bool) -> Outcome:
    """Do what a key asks for; a key that means nothing changes nothing but says so.

    Where the store can't take a rating the outcome says why, and the card stays as it was.
    """
    if press in {END, INTERRUPT} or press.name == "q":
        return Outcome(press.reason, over=True)
    key = press.name.lower()
    if session.showing is None and key != "u":
        return Outcome(over=True)
    try:
        return _do(session, key, ascii=ascii) or Outcome(unknown_line(press))
    except NextUnread:
        return Outcome("Stored, but the next card can't be read.", over=True, rated=True)
    except StoreFailure as problem:
        return Outcome(f"Not stored: {problem.line()} Press the key once more.")


def _do(session: Drill, key: str, *, ascii: bool) -> Outcome | None:
    """Do what a key asks for; None where it asks for nothing."""
    if key in RATING_LETTERS:
        done = session.rate(Recall.from_letter(key), clock())
        return Outcome(said(done, ascii=ascii) + rest_line(session), rated=True)
    return Outcome(OTHER_KEYS[key](session)) if key in OTHER_KEYS else None


def unknown_line(press: Press) -> str:
    """Say that a key means nothing."""
    shown = press.reason.split(": ")[-1] if press.name == "unknown" else repr(press.name)
    return f"{shown or 'That key'} is no key here; ? shows the keys."


def _undo(session: Drill) -> str:
    if session.undo(clock()):
        return "Taken back; rate it once more."
    return "There is nothing to take back in this session."


def _skip(session: Drill) -> str:
    session.skip(clock())
    return "Skipped for this session."


def _hint(session: Drill) -> str:
    session.hint()
    return ""


def _faster(session: Drill) -> str:
    return f"Tempo {session.change_tempo(1)} for this attempt."


def _slower(session: Drill) -> str:
    return f"Tempo {session.change_tempo(-1)} for this attempt."


OTHER_KEYS: dict[str, Callable[[Drill], str]] = {
    "u": _undo,
    "s": _skip,
    "h": _hint,
    "+": _faster,
    "=": _faster,
    "-": _slower,
}


def rest_line(session: Drill) -> str:
    """Propose a rest when one is due, and otherwise say nothing."""
    return f" {REST}" if session.rest_is_due(clock()) else ""


def said(done: Rated, *, ascii: bool) -> str:
    """Say what was rated, and what the player should know about it."""
    card = done.read
    line = f"{card.title} in {card.key.text(ascii=ascii)}: {done.recall.word}."
    if done.capped:
        line += " After the third hint no more than rough counts."
    if done.back_in_time:
        line += " The clock stands before its last attempt; its order was kept."
    tempo = done.after.tempo.tempo
    if {tempo} != {done.tempo, done.before.tempo.tempo}:
        line += f" Next time at {tempo}."
    return line
