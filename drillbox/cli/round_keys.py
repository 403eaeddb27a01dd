"""What each key does in a round, on the screen and line by line alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.cli.context import clock
from drillbox.cli.drill_keys import RATING_LETTERS, Outcome, said, unknown_line
from drillbox.errors import StoreFailure
from drillbox.memory.recall import Recall
from drillbox.terminal.presses import END, INTERRUPT, Press

if TYPE_CHECKING:
    from drillbox.practice.rounds import Round


def act(session: Round, press: Press, *, running: bool = False, ascii: bool) -> Outcome:
    """Do what a key asks for; ``running`` says that the beat goes on meanwhile.

    A key that means nothing changes nothing but says so. Where the store can't take a rating
    the outcome says why, and the key stays as it was.
    """
    if press in {END, INTERRUPT}:
        return Outcome(press.reason, over=True)
    key = press.name.lower()
    if key == "q":
        return _stop(session)
    if session.shown is None and key != "u":
        return Outcome(over=True)
    try:
        if key in RATING_LETTERS:
            return _rate(session, Recall.from_letter(key), running=running, ascii=ascii)
        return Outcome(_other(session, key, running, ascii) or unknown_line(press))
    except StoreFailure as problem:
        return Outcome(f"Not stored: {problem.line()} Press the key once more.")


def _other(session: Round, key: str, running: bool, ascii: bool) -> str:
    """Do what a key asks for that neither rates nor stops; return nothing where it means none."""
    if key == "u":
        return _undo(session)
    if key == "s":
        return _leave(session, running=running, ascii=ascii)
    if key in {"+", "=", "-"}:
        return _change_tempo(session, -1 if key == "-" else 1, running=running)
    return ""


def _stop(session: Round) -> Outcome:
    """Leave what wasn't played; once nothing is left to rate, the round is over."""
    playing = session.at < len(session.legs)
    session.stop()
    if not playing or session.asked is None:
        return Outcome(over=True)
    return Outcome("Stopped. Rate what you played; q leaves the rest unrated.", stopped=True)


def _rate(session: Round, recall: Recall, *, running: bool, ascii: bool) -> Outcome:
    index = session.shown
    assert index is not None  # the caller asks for it
    done = session.rate(index, recall, clock())
    if done is None:
        name = session.legs[index].key.text(ascii=ascii)
        return Outcome(f"{name} is rated already; u takes that back.")
    if not running:
        session.go_on()
    return Outcome(said(done, ascii=ascii), rated=True)


def _undo(session: Round) -> str:
    if not session.undo(clock()):
        return "There is nothing to take back in this round."
    if session.at < len(session.legs):
        return "Taken back; it is asked for after the round."
    return "Taken back; rate it once more."


def _leave(session: Round, *, running: bool, ascii: bool) -> str:
    index = session.shown
    assert index is not None  # the caller asks for it
    session.leave(index)
    if not running:
        session.go_on()
    return f"{session.legs[index].key.text(ascii=ascii)} is left unrated."


def _change_tempo(session: Round, rungs: int, *, running: bool) -> str:
    if running:
        return "Stop the beat first: space."
    if session.at == len(session.legs):
        return "The round was played; only ratings are missing."
    return f"Tempo {session.change_tempo(rungs)} for the rest of the round."
