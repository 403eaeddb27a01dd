"""One sitting at the instrument: wait for a press or a beat, and do what it asks for."""

from __future__ import annotations

import time
from abc import ABC, abstractmethod
from collections.abc import Callable
from datetime import timedelta
from functools import partial
from math import ceil
from typing import TYPE_CHECKING

from drillbox.errors import NotFound, StoreFailure
from drillbox.music.pulse import Position, Pulse
from drillbox.player.attended import Attended
from drillbox.player.controls import coming_line, help_of, pedal_of, taking_line
from drillbox.player.listening import Listening
from drillbox.player.session import Actions, Display, Ending, Outcome, Prompt, Session, do, safely
from drillbox.screen.footer import paused_screen
from drillbox.terminal.clock import OVER, BeatClock
from drillbox.terminal.presses import (
    BACKSPACE,
    ENTER,
    ESC,
    LEAVING,
    RESIZED,
    TIMEOUT,
    Press,
    Presses,
)
from drillbox.terminal.sounds import Click, ClickChoice, SilentClick, open_click, play_loop

if TYPE_CHECKING:
    from rich.console import RenderableType

    from drillbox.practice.looping import Loop
    from drillbox.screen.look import Look

LISTENING = 0.5  # seconds after which it is looked whether the player has fallen silent
JUDGING = "One moment: going over what you played."  # a round's sound takes seconds
AWAY = "You were away: it waits for a press."
REFRESH = 10.0  # seconds after which the screen is drawn again while nothing happens


class Stage(ABC):
    """A session with its keys, its beat and its click; ``message`` is what was last said."""

    def __init__(self, session: Session, display: Display, keys: Presses) -> None:
        self.session, self.display = session, display
        self.keys = Attended(keys, self._leave_out)
        self.pedal = pedal_of(session.preferences.pedal)
        self.message = session.opening
        self._seen: object = object()  # nothing yet
        self._beat: BeatClock | None = None
        self._next_at: float | None = None  # when something happens by itself
        self._listening = Listening(session.preferences)
        self._first_bar: float | None = None  # when the beat's first full bar began
        self._click: Click = SilentClick()
        self._click_tried = False
        self._paused = False

    @abstractmethod
    def present(self) -> None:
        """Show what is to be played, or that nothing is left."""

    @abstractmethod
    def show_until_press(self, screen: Callable[[Look], RenderableType]) -> bool:
        """Show a screen of its own; return whether what was pressed ends the session."""

    @abstractmethod
    def show_typed(self, prompt: Prompt, text: str) -> None:
        """Show a line that is being typed."""

    @abstractmethod
    def help(self) -> Outcome:
        """Show what can be pressed."""

    def run(self) -> bool:
        """Show, wait for a press or a beat, do what it asks for, until the session is over.

        Return whether it was broken off.
        """
        while not self.session.done:
            self._forget_typed_ahead()
            self.present()
            if self.session.preferences.backing != "off":
                self._add(self.open_sound())
            if self.session.hears:
                self._add(self._listening.news())
            happened = self.wait()
            if isinstance(happened, Position):
                self.message = "" if self.session.follow(happened) else self.message
            elif happened == OVER:
                self.end_attempt("played through")
            elif happened == RESIZED:
                self.resize()
            elif self.go_on_if_due() if happened == TIMEOUT else self.handle(happened):
                break
        return self.keys.broken_off

    def _add(self, news: str) -> None:
        """Say at once, after what was said before, why something can't be heard."""
        if news:
            self.message = f"{self.message} {news}".strip()
            self.present()

    def _forget_typed_ahead(self) -> None:
        """Drop what was typed or pasted before a new card is seen: it isn't meant for it."""
        now = self.session.before_player
        if now != self._seen:
            self._seen = now
            self.keys.forget_typed()
            if self._beat is None:
                self._listening.begin()

    def close(self) -> None:
        """Fall silent and let go of the sound device."""
        self._click.close()
        self._listening.close()

    def wait(self) -> Press | Position:
        """Return the next beat or press, or TIMEOUT when the screen changes without either."""
        if self._beat is not None:
            happened = self._beat.wait(self.session.changes_at())
            if self._beat.first_bar != self._first_bar:  # it stood still, and was put off by that
                self._first_bar = self._beat.first_bar
                self._listening.begin()
            return happened
        if self._next_at is None:
            return self.keys.read_key(LISTENING if self._listening.on else REFRESH)
        left = max(0.0, self._next_at - time.monotonic())
        return self.keys.read_key(left % 1 or min(left, 1))

    def seconds_left(self) -> int:
        """Return in how many seconds something happens by itself, 0 where nothing does."""
        return 0 if self._next_at is None else max(1, ceil(self._next_at - time.monotonic()))

    def coming(self) -> str:
        """Say what happens by itself, and in how many seconds; "" where nothing does."""
        left = self.seconds_left()
        if not left:
            return ""
        return taking_line(left) if self.session.proposal else coming_line(left)

    def go_on_if_due(self) -> bool:
        """Take the proposed rating, or count the next card in, where its seconds are over.

        Return whether the session is over.
        """
        if self._next_at is not None:
            if time.monotonic() >= self._next_at:
                actions = self.actions()  # not as a press: a pedal may read that in its own way
                return self.carry_out(actions.get("accept") or actions["start"])
        elif (
            self.session.shown
            and not self.session.proposal
            and self._listening.fell_quiet(self.session.rest_after)
        ):
            self.message = self.judge(None)
        return False

    def handle(self, press: Press) -> bool:
        """Do what a press asks for; return whether the session is over."""
        return self.carry_out(lambda: do(self.session, press, self.actions()))

    def carry_out(self, action: Callable[[], Outcome]) -> bool:
        """Do an action, and what follows from it; return whether the session is over."""
        self._next_at = None
        outcome = safely(action)
        self.message = outcome.message
        running = self._beat is not None
        if outcome.over or outcome.ended:
            self.end_attempt("over" if outcome.over else outcome.ended)
        if outcome.hear:
            self.end_attempt("stopped")
            return self.hear(outcome.hear)
        if outcome.onward:
            self.go_on_later()
        if running and outcome.ended == "restarted":
            self.message = self.start() or self.message
        return outcome.over

    def go_on_later(self) -> None:
        """Let the proposal be taken, or the next card count itself in, where that is set.

        What was played slower than it was asked for isn't taken unless the player says so.
        """
        found, mine = self.session.proposal, self.session.preferences
        seconds = mine.next_after
        if found is not None:
            seconds = mine.accept_after if found.proposed and not found.slower else 0
        self._next_at = time.monotonic() + seconds if seconds else None

    def actions(self) -> Actions:
        """Return what can be done now: the session's own actions, and those of a stage."""
        mine = {"pause": self.pause, "help": self.help}
        theirs = self.session.actions()
        proposed = "accept" in theirs
        if self.session.playable:
            mine["replay" if proposed else "start"] = self.start_or_stop
        at_rest = self._listening.on and self._beat is None
        if at_rest and not proposed and not self.session.is_round:
            mine["heard"] = self.heard
        typed = {name: partial(self.typing, each) for name, each in self.session.prompts().items()}
        return {**theirs, **mine, **typed}

    def helps(self) -> list[tuple[str, str]]:
        """Return what each control does."""
        return help_of(self.actions(), in_round=self.session.is_round, pedal=self.pedal)

    def notes(self) -> tuple[str, ...]:
        """Return what the help says besides, a pedal's two sides among it."""
        told = self.pedal.notes(self.actions()) if self.pedal else ()
        return (*self.session.notes, *told)

    def start_or_stop(self) -> Outcome:
        """Count in and start the beat, or stop it."""
        if self._beat is not None:
            self.end_attempt("played")
            return Outcome(self.message)
        return Outcome(self.start())

    def start(self) -> str:
        """Count in and start the beat; return what is to be said of that."""
        return self.start_attempt(self.session.pulse())

    def start_attempt(self, pulse: Pulse) -> str:
        """Count in and start the beat; at the first one, open the sound device.

        Return why it can't be opened, once a session, and otherwise "".
        """
        problem = self.open_sound()
        self._click.accompany(self.session.charts())
        self._beat = BeatClock(self.keys, pulse, self._click)
        self._beat.start()
        self._first_bar = self._beat.first_bar
        self._listening.begin()
        self.session.play_anew()
        self.session.beats_now = self._beat.beats_now
        return problem

    def open_sound(self) -> str:
        """Open the sound device, once a session; return why it can't be, and otherwise ""."""
        if self._click_tried:
            return ""
        self._click_tried = True
        mine = self.session.preferences
        choice = ClickChoice(mine.click_kind, mine.click_beats, mine.volume, mine.backing)
        self._click, problem = open_click(choice)
        return problem

    def hear(self, loop: Loop) -> bool:
        """Play a line until it is over or something is pressed; return whether that ends it all."""
        self.message = "Listen. Press anything to stop."
        self.present()
        volume, device = self.session.preferences.volume, self._click.device
        pressed = play_loop(loop.parts, loop.options, volume, self._press_within, device)
        self._listening.begin()  # a microphone heard it, too
        self.message = pressed if isinstance(pressed, str) else ""
        return pressed in LEAVING

    def _press_within(self, seconds: float) -> Press:
        """Return the next press, TIMEOUT where there is none; another window is drawn meanwhile."""
        until = time.monotonic() + seconds
        while (press := self.keys.read_key(max(0.0, until - time.monotonic()))) == RESIZED:
            self.resize()
            self.present()
        return press

    def end_attempt(self, how: Ending) -> None:
        """Stop the beat, where it runs: the one place where an attempt ends, however it does."""
        if self._beat is None:
            return
        self._beat.pause()
        self._beat = None
        self.session.beats_now = self.session.position = None
        if how == "played through" and self.session.play_out():
            self.message = ""
        first_bar, self._first_bar = self._first_bar, None
        if how in {"played through", "played"} or (how == "stopped" and self.session.is_round):
            before = self.message
            if self.session.is_round and self.session.shown and self._listening.by_microphone:
                self._add(JUDGING)
            self.message = self.judge(first_bar) or before

    def heard(self) -> Outcome:
        """Have what was played without a beat judged."""
        return Outcome(self.judge(None))

    def judge(self, first_bar: float | None) -> str:
        """Take what was heard to the session; return what is to be said besides its proposal."""
        if first_bar is not None and time.monotonic() < first_bar:
            return ""
        try:
            said = self._listening.judge(self.session, first_bar)
        except NotFound:
            said = "The phrase was deleted meanwhile: nothing is proposed."
        except StoreFailure as problem:
            said = f"Nothing is proposed: {problem.line()}"
        if self.session.proposal:
            self.go_on_later()
        return said

    def pause(self) -> Outcome:
        """Stop the time until something is pressed."""
        self.end_attempt("stopped")
        began = time.time()  # as the ratings' times: it goes on while the machine sleeps
        self._paused = True
        ended = self.show_until_press(paused_screen)
        self._paused = False
        self._listening.begin()  # what was played meanwhile is no go
        self.session.pause(timedelta(seconds=time.time() - began))
        return Outcome(over=ended)

    def _leave_out(self, seconds: float) -> None:
        """Leave the time out for which the program was stopped (Ctrl-Z), as a pause is, with what
        was played meanwhile, and let what would happen by itself wait for a press."""
        if self._next_at is not None:
            self._next_at = None
            self.message = f"{self.message} {AWAY}".strip()
        if self._beat is None:  # else ``wait`` does, where it stood still
            self._listening.begin()
        if not self._paused:
            self.session.pause(timedelta(seconds=seconds))

    def typing(self, prompt: Prompt) -> Outcome:
        """Let a line be typed over what stands there and keep it; Esc leaves it.

        It is shown once for all that was typed meanwhile.
        """
        self.end_attempt("stopped")
        text = prompt.text
        while True:
            press = self.keys.read_key(0)
            if press == TIMEOUT:
                self.show_typed(prompt, text)
                press = self.keys.read_key(None)
            if press == ENTER:
                self.show_typed(prompt, text)
                return prompt.keep(text)
            if press in {*LEAVING, ESC}:
                return Outcome(over=press != ESC)
            if press == RESIZED:
                self.resize()
            else:
                text = text[:-1] if press == BACKSPACE else text + press.character

    def resize(self) -> None:
        """Measure the terminal again."""
        self.display.measure()
