"""A tune at the instrument: where the beat is in it, which phrase is next, and its ratings."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta
from fractions import Fraction
from functools import partial
from math import ceil
from typing import TYPE_CHECKING

from drillbox.errors import NotFound
from drillbox.memory.recall import Recall
from drillbox.music.pulse import Position, Pulse
from drillbox.player.controls import while_running
from drillbox.player.session import (
    OTHERS,
    UNDO_OR_END,
    Actions,
    Clock,
    Outcome,
    Prompt,
    Session,
    beat_shown,
    deleted_line,
    rated_line,
    undone,
)
from drillbox.practice.tunes import Choruses, Spot
from drillbox.screen.chorus import ChorusView, Line, asked_lines, chorus_screen, tune_lines
from drillbox.screen.footer import NO_FOOT, Foot

if TYPE_CHECKING:
    from rich.console import RenderableType

    from drillbox.music.charts import Chart
    from drillbox.practice.preferences import Preferences
    from drillbox.screen.look import Look


class InTune(Session):
    """A tune as it is played; where it isn't ``timed`` its phrases are only asked for."""

    is_round = True
    hears = False
    notes = ("The next phrase shows a bar ahead. Each is rated once, at the end.",)
    over_heading = "The tune is over"
    closing = UNDO_OR_END

    def __init__(self, played: Choruses, clock: Clock, *, ascii: bool) -> None:
        self.tune, self.clock, self.ascii = played, clock, ascii
        self.beats_now: Callable[[], float] | None = None
        self.position: Position | None = None
        self.opening = OTHERS if played.others_open else ""
        self._bar = 0  # of those that are played, from which the beat was started
        self._beats = 0  # in a bar
        self._over = False
        self._introduced = False
        self._told: int | None = None  # the phrase that was asked for last
        if not played.timed:
            self.play_out()

    @property
    def preferences(self) -> Preferences:
        """Return the player's settings."""
        return self.tune.preferences

    @property
    def running(self) -> bool:
        """Return whether the beat runs."""
        return self.beats_now is not None

    @property
    def shown(self) -> bool:
        """Return whether there is something to play or to rate."""
        return not self._over or self.tune.asked is not None

    @property
    def playable(self) -> bool:
        """Return whether the tune isn't over."""
        return not self._over

    @property
    def before_player(self) -> object:
        """Return which phrase is asked for; while the tune goes the beat leads on."""
        return self.tune.asked if self._over else None

    @property
    def done(self) -> bool:
        """Return whether the tune is over and no rating could be taken back."""
        return not self.shown and not self.tune.rated

    def actions(self) -> Actions:
        """Return what can be done: stop while it is played, rate once it is over."""
        rest = {"undo": self._undo, "stop": self._stop}
        if not self._over:
            return rest
        rate: dict[str, Callable[[], Outcome]] = {
            recall.word: partial(self._rate, recall) for recall in Recall
        }
        return rate | rest | {"skip": self._leave}

    def prompts(self) -> Mapping[str, Prompt]:
        """Return nothing: a tune has no time for typing."""
        return {}

    def pulse(self) -> Pulse:
        """Return the beat from the bar at which it stopped to the end."""
        self._bar = int(self._quarters // self.tune.tune.chart.meter.bar)
        left = len(self.tune.order) - self._bar
        pulse = Pulse(self.tune.tune.chart.meter, left, self.tune.tempo, 1)
        self._beats = pulse.beats_in_bar
        return pulse

    def charts(self) -> list[Chart]:
        """Return what is played from the beat's first bar on, at concert pitch."""
        return [self.tune.chart_from(self._bar)]

    @property
    def _quarters(self) -> Fraction:
        """Return how far the beat has come, in quarter notes of what is played."""
        position, bar = self.position, self.tune.tune.chart.meter.bar
        if position is None:
            return Fraction(self.tune.heard)
        if position.count_in:
            return self._bar * bar
        return (self._bar + position.bar) * bar + position.beat * bar / self._beats

    def follow(self, position: Position) -> bool:
        """Go on with the beat; return whether another phrase is or comes from it on."""
        before = self._spots()
        self.position = position
        if not position.count_in:
            self.tune.hear(self._quarters)
        return self._spots() != before

    def changes_at(self) -> float | None:
        """Return nothing: the screen changes on beats only."""
        return None

    def play_out(self) -> bool:
        """Take the tune as played to its end: now its phrases are asked for."""
        self.tune.hear(self.tune.length)
        self._over = True
        return True

    def play_anew(self) -> None:
        """Do nothing: a tune isn't listened to."""

    def pause(self, length: timedelta) -> None:
        """Leave a pause out of the time that it takes."""
        self.tune.pause(length)

    def _rate(self, recall: Recall) -> Outcome:
        index = self.tune.asked
        assert index is not None  # ratings are offered only where one is asked for
        try:
            done = self.tune.rate(index, recall, self.clock())
        except NotFound:
            return Outcome(deleted_line(self.tune.reads[index].title))
        return Outcome(rated_line(done, ascii=self.ascii) if done else "")

    def _undo(self) -> Outcome:
        return Outcome(undone(self.tune.undo, self.clock()) or "Rating undone. Rate it again.")

    def _leave(self) -> Outcome:
        index = self.tune.asked
        assert index is not None
        self.tune.leave(index)
        read = self.tune.reads[index]
        return Outcome(f"{read.title} in {read.key.text(ascii=self.ascii)} is left unrated.")

    def _stop(self) -> Outcome:
        """Stop the tune and ask for what was played; once more: leave it unrated."""
        if self._over or self.tune.asked is None:
            return Outcome(over=True)
        self.tune.stop()
        self._over = True
        return Outcome("Stopped. Rate what you played; q leaves the rest unrated.", ended="stopped")

    def _spots(self) -> tuple[Spot | None, Spot | None]:
        return self.tune.now_and_next(self._quarters)

    def _line(self, leg: int, away: int = 0) -> Line:
        read = self.tune.reads[leg]
        return Line(read.title, read.key, away)

    def view(self, message: str = "", foot: Foot = NO_FOOT) -> ChorusView:
        """Return what a screen says now."""
        tune, quarters = self.tune, self._quarters
        bar = tune.tune.chart.meter.bar
        at = min(int(quarters // bar), len(tune.order) - 1)
        now, coming = self._spots()
        first = tune.tune.chorus[0]
        sounding, count = beat_shown(self.position, self._beats)
        asked = tune.asked if self._over else None
        asking = None
        if asked is not None:
            played = tune.played(asked, "")
            asking = (self._line(asked), played.loops, played.tempo)
        return ChorusView(
            tune.tune, tune.order[at], max(1, tune.order[: at + 1].count(first)),
            tune.order.count(first), tune.tempo,
            now=self._line(now.leg) if now else None,
            coming=self._line(coming.leg, ceil((coming.start - quarters) / bar))
            if coming else None,
            asking=asking,
            left=sum(self._waits(leg) for leg in range(tune.at)),
            message=message, sounding=sounding, count=count,
            foot=while_running(foot) if self.running else foot,
        )  # fmt: skip

    def _waits(self, leg: int) -> bool:
        return self.tune.recall_of(leg) is None and not self.tune.is_left(leg)

    def screen(self, look: Look, message: str, foot: Foot) -> RenderableType:
        """Draw the bars around the beat, or the phrase that is to be rated."""
        return chorus_screen(self.view(message, foot), look)

    def news(self, look: Look) -> list[str]:
        """Say the tune at first, and then each phrase that is to be rated."""
        lines = [] if self._introduced else tune_lines(self.view(), look)
        self._introduced = True
        if self._over and self._told != self.tune.asked:
            self._told = self.tune.asked
            lines += asked_lines(self.view(), look)
        return lines
