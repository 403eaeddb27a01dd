"""What a drill and a round have in common for whoever plays them, and what a press comes to."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, ClassVar, Literal, NamedTuple, Protocol

from drillbox.errors import NotFound, NotKnown, Overtaken, StoreFailure
from drillbox.player.controls import action_of, pedal_of, unknown_line
from drillbox.screen.lead_sheet import Sounding
from drillbox.terminal.presses import LEAVING, Press

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from drillbox.hearing.takes import Overheard
    from drillbox.music.charts import Chart
    from drillbox.music.moving.transposition import Fit
    from drillbox.music.pulse import Position, Pulse
    from drillbox.practice.listening import Heard
    from drillbox.practice.looping import Loop
    from drillbox.practice.preferences import Preferences
    from drillbox.practice.rating import Rated
    from drillbox.screen.footer import Foot
    from drillbox.screen.look import Look
    from drillbox.terminal.about import Terminal

Clock = Callable[[], datetime]


Ending = Literal["", "played through", "played", "stopped", "restarted", "rated", "over"]
"""How an attempt ended: all loops over, the beat stopped by hand, left for something else, to
be counted in again, by its rating, or with the session; "" where it goes on."""


class Outcome(NamedTuple):
    """What a press came to: a line to say, whether all is over, and how the attempt ended.

    ``onward``: the next card is there, and may go on by itself. ``hear``: its line is to be
    played.
    """

    message: str = ""
    over: bool = False
    ended: Ending = ""
    onward: bool = False
    hear: Loop | None = None


Actions = Mapping[str, Callable[[], Outcome]]
"""What can be done now, by the names that ``controls.CONTROLS`` gives."""


class Prompt(NamedTuple):
    """A line to be typed: what is asked for, what stands there, and what keeps it."""

    asked: str
    text: str
    keep: Callable[[str], Outcome]


class Display(Protocol):
    """Where things are shown, as it is now; ``measure`` takes a terminal's size anew."""

    @property
    def terminal(self) -> Terminal:
        """Return what the terminal is."""

    @property
    def look(self) -> Look:
        """Return how screens may look."""

    @property
    def console(self) -> Console:
        """Return what screens are printed on."""

    def measure(self) -> None:
        """Take the size anew."""

    def show(self, screen: RenderableType) -> None:
        """Print a screen."""


class Session(Protocol):
    """A drill or a round at the instrument.

    ``beats_now`` counts the beats since the count-in began, None while no beat runs;
    ``position`` is the beat that fell last; where it ``hears``, attempts are listened to;
    ``opening`` is what the player should know first.
    """

    is_round: ClassVar[bool]
    hears: ClassVar[bool] = True
    opening: str
    notes: ClassVar[tuple[str, ...]]
    beats_now: Callable[[], float] | None
    position: Position | None

    @property
    def over_heading(self) -> str:
        """Return why nothing is left to play, in a few words."""

    @property
    def closing(self) -> str:
        """Return what can be pressed once nothing is left."""

    @property
    def over_line(self) -> str:
        """Return the same with what can be pressed then."""
        return f"{self.over_heading}. {self.closing}"

    @property
    def preferences(self) -> Preferences:
        """Return the player's settings."""

    @property
    def shown(self) -> bool:
        """Return whether there is something to play or to rate."""

    @property
    def playable(self) -> bool:
        """Return whether something is left to play, so that a beat can be started."""

    @property
    def before_player(self) -> object:
        """Return what tells one thing to rate from the next: presses are for one of them."""

    @property
    def done(self) -> bool:
        """Return whether nothing is left, not even a rating to take back."""

    def actions(self) -> Actions:
        """Return what can be done now without a beat or a typed line."""

    def prompts(self) -> Mapping[str, Prompt]:
        """Return the actions that need a typed line."""

    def pulse(self) -> Pulse:
        """Return the beat to be started, where something is ``playable``."""

    def charts(self) -> Sequence[Chart]:
        """Return the charts at concert pitch that ``pulse`` goes through once."""

    def follow(self, position: Position) -> bool:
        """Take a beat as fallen; return whether something else is to be played from it on."""

    def changes_at(self) -> float | None:
        """Return after how many beats the screen changes between two beats; None: it doesn't."""

    def play_out(self) -> bool:
        """Take all that the beat ran through as played; return as ``follow`` does."""

    @property
    def proposal(self) -> Heard | None:
        """Return what was heard of the attempt that is to be rated now."""
        return None

    def propose(self, overheard: Overheard, first_bar: float | None) -> str:
        """Work out from what was heard what is proposed; return what is to be said instead.

        ``first_bar`` is when the first full bar began by ``time.monotonic``, None where the
        player kept their own time.
        """
        del overheard, first_bar
        return ""

    def rest_after(self, played: Sequence[int]) -> float:
        """Return for how many seconds at most no note begins after those, MIDI notes, that were
        played."""
        del played
        return 0.0

    def play_anew(self) -> None:
        """Drop what is proposed for what is played now: what was heard is of another go."""

    def pause(self, length: timedelta) -> None:
        """Leave a pause out of the time that is counted."""

    def screen(self, look: Look, message: str, foot: Foot) -> RenderableType:
        """Draw what is to be played, with what can be pressed below it."""

    def news(self, look: Look) -> list[str]:
        """Say what wasn't said before, line by line; nothing where there is nothing new."""


def safely(action: Callable[[], Outcome]) -> Outcome:
    """Do an action; where the store can't take it, say why, and all stays as it was."""
    try:
        return action()
    except NotKnown as problem:
        return Outcome(f"{problem.line()} Rate it again: nothing is stored twice.")
    except Overtaken as problem:
        return Outcome(problem.line())
    except StoreFailure as problem:
        return Outcome(f"Not stored: {problem.line()} Press it again.")


def do(session: Session, press: Press, actions: Actions) -> Outcome:
    """Do what a press asks for; one that means nothing changes nothing but says so.

    Raises StoreFailure where the store can't take a rating, and all stays as it was.
    """
    if press in LEAVING:
        return Outcome(press.reason, over=True)
    name = action_of(press, actions, pedal_of(session.preferences.pedal))
    if not session.shown and name not in {"undo", "stop"}:
        return Outcome(over=True)
    if name is None or name not in actions:
        return Outcome(unknown_line(press))
    return actions[name]()


def beat_shown(position: Position | None, beats: int) -> tuple[Sounding | None, int]:
    """Return the beat as a screen shows it, of ``beats`` in a bar, and the count of the count-in.

    The count is from 1, and 0 outside of the count-in.
    """
    if position is None:
        return None, 0
    if position.count_in:
        return Sounding(-1, position.beat, beats), position.beat + 1
    return Sounding(position.bar, position.beat, beats), 0


def stray_line(fit: Fit | None, preferences: Preferences) -> str:
    """Say that a line leaves the player's instrument; "" where it doesn't."""
    if fit is None:
        return ""
    from drillbox.screen.lead_sheet import stray_text  # only where there is something to say

    return stray_text(fit, preferences.instrument.name)


def rated_line(done: Rated, *, ascii: bool) -> str:
    """Say what was rated, and what the player should know about it."""
    card = done.read
    line = f"{card.title} in {card.key.text(ascii=ascii)}: {done.recall.word}."
    if done.capped:
        line += " With all three hints the best rating is rough."
    if done.back_in_time:
        line += " The clock is earlier than at the last go; the order is kept."
    return line


def deleted_line(title: str) -> str:
    """Say that a phrase was deleted in another session while it was before the player."""
    return f"{title!r} was deleted meanwhile; nothing is stored."


def undone(undo: Callable[[datetime], bool], now: datetime) -> str:
    """Take the last rating back; return why it can't be, "" where it is."""
    try:
        return "" if undo(now) else "Nothing to undo."
    except NotFound:
        return DELETED_TOO


UNDO_OR_END = "u undoes the last rating, anything else ends the session."
DELETED_TOO = "That rating was deleted with its phrase; u undoes the one before."
PUT_OFF = "This wasn't heard from its beginning: rate it yourself."

OTHERS = "Another session is running, or never ended; nothing is lost."
