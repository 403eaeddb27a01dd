"""A round at the instrument: where the beat is in it, and what each press does."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING, cast

from drillbox.errors import NotFound
from drillbox.memory.recall import Recall
from drillbox.music.pulse import Position, Pulse
from drillbox.player.controls import while_running
from drillbox.player.session import (
    OTHERS,
    PUT_OFF,
    UNDO_OR_END,
    Actions,
    Clock,
    Outcome,
    Prompt,
    Session,
    beat_shown,
    deleted_line,
    rated_line,
    stray_line,
    undone,
)
from drillbox.practice.rounds import Round
from drillbox.screen.footer import NO_FOOT, Foot
from drillbox.screen.round import Mark, Place, RoundView, round_lines, round_screen

if TYPE_CHECKING:
    from rich.console import RenderableType

    from drillbox.hearing.takes import Overheard
    from drillbox.music.charts import Chart
    from drillbox.practice.listening import Heard
    from drillbox.practice.preferences import Preferences
    from drillbox.screen.look import Look

GRACE = 1.5  # beats after a change in which a rating is still for the key just played


class InRound(Session):
    """A round as it is played; one that isn't ``timed`` is rated key by key, without a beat.

    ``after`` is the title of the phrase whose round follows.
    """

    is_round = True
    notes = ("You rate what is still unrated after the last key.",)
    over_heading = "The round is over"

    def __init__(self, played: Round, clock: Clock, *, ascii: bool, after: str = "") -> None:
        self.round, self.clock, self.ascii, self._after = played, clock, ascii, after
        self.beats_now: Callable[[], float] | None = None
        self.position: Position | None = None
        self.opening = OTHERS if played.others_open else ""
        self._first = 0  # the key that the beat was started in
        self._pulse: Pulse | None = None
        self._heard: dict[int, Heard] = {}
        self._by_hand: set[int] = set()  # the keys rated without the beat, which led on by that
        self._told: tuple[int, bool] | None = None  # the key said last, and if asked for
        if not played.timed:
            self.play_out()

    @property
    def closing(self) -> str:
        """Say what can be pressed; where the round was stopped none follows."""
        if not self._after or self.round.stopped:
            return UNDO_OR_END
        goes_on = f"anything else goes on to {self._after!r}"
        return f"u undoes the last rating, q stops here, {goes_on}."

    @property
    def preferences(self) -> Preferences:
        """Return the player's settings."""
        return self.round.preferences

    @property
    def index(self) -> int:
        """Return the key that is played or to be rated."""
        assert self.round.shown is not None  # what is offered depends on ``shown``
        return self.round.shown

    @property
    def shown(self) -> bool:
        """Return whether a key is to be played or rated."""
        return self.round.shown is not None

    @property
    def playable(self) -> bool:
        """Return whether a key is left to be played."""
        return not self.asking

    @property
    def before_player(self) -> object:
        """Return which key is asked for after the round; while it goes the beat leads on."""
        return self.round.shown if self.asking else None

    @property
    def done(self) -> bool:
        """Return whether the round is over and no rating could be taken back."""
        return self.round.shown is None and not self.round.rated

    @property
    def asking(self) -> bool:
        """Return whether all keys were played, so that only ratings are missing."""
        return self.round.at == len(self.round.legs)

    @property
    def bars(self) -> int:
        """Return how many bars a key is played for, all its times through."""
        return len(self.round.legs[0].on.bars) * self.round.loops

    def actions(self) -> Actions:
        """Return what can be done with the key."""
        rate: dict[str, Callable[[], Outcome]] = {
            recall.word: partial(self._rate, recall) for recall in Recall
        }
        rest = {"skip": self._leave, "undo": self._undo, "stop": self._stop}
        if self.asking:
            found = self.proposal and self.proposal.proposed
            return rate | rest | ({"accept": partial(self._rate, found)} if found else {})
        faster, slower = partial(self._change_tempo, 1), partial(self._change_tempo, -1)
        return rate | rest | {"faster": faster, "slower": slower}

    def prompts(self) -> Mapping[str, Prompt]:
        """Return nothing: a round has no time for typing."""
        return {}

    def pulse(self) -> Pulse:
        """Return the beat from the key shown to the last."""
        left = len(self.round.legs) - self.round.at
        leg = self.round.legs[self.round.at]
        doubled = leg.read.double_time and self.preferences.doubled_beat
        self._first = self.round.at
        self._pulse = Pulse(leg.on.meter, left * self.bars, self.round.tempo, 1, doubled)
        return self._pulse

    def charts(self) -> list[Chart]:
        """Return the charts from the key shown to the last, each as often as it is played."""
        found: list[Chart] = []
        for leg in self.round.legs[self.round.at :]:
            back, on = leg.sounding
            found += [back] * (self.round.loops - 1) + [on]
        return found

    def follow(self, position: Position) -> bool:
        """Go on to the next key where the beat has reached it; return whether it has."""
        self.position = position
        reached = self._first + position.bar // self.bars
        if position.count_in or reached == self.round.at:
            return False
        self.round.play_to(reached)
        return True

    def changes_at(self) -> float | None:
        """Return after how many beats a rating is no longer for the key before."""
        late = self._late
        return late and late[1]

    @property
    def running(self) -> bool:
        """Return whether the beat runs."""
        return self.beats_now is not None

    @property
    def _late(self) -> tuple[int, float] | None:
        """Return the key just played, and after how many beats a rating isn't for it any more.

        None outside of the first beat and a half after a change, and in the first key.
        """
        if self.beats_now is None or self._pulse is None:
            return None
        length = self.bars * self._pulse.beats_in_bar
        count_in = self._pulse.count_in_bars * self._pulse.beats_in_bar
        played, into = divmod(self.beats_now() - count_in, length)
        if played < 1 or into >= GRACE:
            return None
        return self._first + int(played) - 1, count_in + played * length + GRACE

    def _meant(self) -> int:
        """Return the key that a rating now is for."""
        late = self._late
        return late[0] if late else self.index

    def play_out(self) -> bool:
        """Take all keys as played: now they are asked for."""
        self.round.play_to(len(self.round.legs))
        return True

    @property
    def proposal(self) -> Heard | None:
        """Return what was heard of the key that is asked for; while the beat goes, nothing."""
        return self._heard.get(self.index) if self.asking and self.shown else None

    def propose(self, overheard: Overheard, first_bar: float | None) -> str:
        """Work out what is proposed for each key that was played since the beat began."""
        from drillbox.practice.listening import Click, Listener  # only where one is heard

        if first_bar is None or self._pulse is None:
            return ""
        length = float(self._pulse.bar_seconds) * self.bars
        beat = float(self._pulse.beat_seconds)
        said = ""
        for number, index in enumerate(range(self._first, self.round.at)):
            if self.round.is_left(index) or self.round.recall_of(index):
                continue
            start = first_bar + number * length
            if start < overheard.since:
                said = PUT_OFF
                continue
            card, read = self.round.cards[index], self.round.reads[index]
            listener = Listener(self.round.store, card, read, self.preferences, ascii=self.ascii)
            click = Click(self.round.tempo, start, self.round.loops)
            found = listener.hear_stretch(overheard, click, length, beat)
            if not found.silent:
                self._heard[index] = found
        return said

    def play_anew(self) -> None:
        """Keep what is proposed: it is for keys that the beat has left behind."""

    def pause(self, length: timedelta) -> None:
        """Leave a pause out of the round's time."""
        self.round.pause(length)

    @property
    def _counting_in(self) -> bool:
        return self.running and (self.position is None or self.position.count_in)

    def _rate(self, recall: Recall) -> Outcome:
        if self._counting_in:
            return Outcome("Counting in: nothing was played yet.")
        index = self._meant()
        found = self._heard.get(index)
        try:
            done = self.round.rate(index, recall, self.clock(), found and found.stored())
        except NotFound:
            return Outcome(deleted_line(self.round.reads[index].title))
        if done is None:
            return Outcome(self._rated_already(index))
        if not self.running and not self.asking:
            self._by_hand.add(index)
            self.round.go_on()
        return Outcome(rated_line(done, ascii=self.ascii), onward=self.proposal is not None)

    def _undo(self) -> Outcome:
        last = self.round.rated[-1:]
        if said := undone(self.round.undo, self.clock()):
            return Outcome(said)
        index = [leg.read.id for leg in self.round.legs].index(last[0].read.id)
        if not self.running and index in self._by_hand and index + 1 == self.round.at:
            self._by_hand.remove(index)
            self.round.play_to(index)  # the beat hasn't been there: back to it
        if self.asking or (not self._counting_in and self._meant() == index):
            return Outcome("Rating undone. Rate it again.")
        return Outcome("Rating undone. You rate it after the round.")

    def _rated_already(self, index: int) -> str:
        return f"{self._name(index)} is rated already; u undoes that."

    def _leave(self) -> Outcome:
        index = self._meant()
        left = self.round.leave(index)
        if not self.running:
            self.round.go_on()
        return Outcome(
            f"{self._name(index)} is left unrated." if left else self._rated_already(index)
        )

    def _change_tempo(self, rungs: int) -> Outcome:
        if self.running:
            return Outcome("Stop the beat first: space.")
        before, tempo = self.round.tempo, self.round.change_tempo(rungs)
        if tempo == before:
            how = "fast" if rungs > 0 else "slow"
            return Outcome(f"Tempo {tempo}: that is as {how} as it goes.")
        return Outcome(f"Tempo {tempo} for the rest of the round.")

    def _stop(self) -> Outcome:
        """Leave what wasn't played; once nothing is left to rate, the round is over."""
        asked = self.asking
        self.round.stop()
        if asked or self.round.asked is None:
            return Outcome(over=True)
        return Outcome("Stopped. Rate what you played; q leaves the rest unrated.", ended="stopped")

    def _name(self, index: int) -> str:
        return self.round.legs[index].key.text(ascii=self.ascii)

    def view(
        self, message: str = "", foot: Foot = NO_FOOT, *, leading_on: bool = False
    ) -> RoundView:
        """Return what a screen says of the key; ``leading_on``: as its last time through."""
        index, position = self.index, self.position
        leg, loops, loop = self.round.legs[index], self.round.loops, 0
        if position is not None and not position.count_in:
            loop, bar = divmod(position.bar % self.bars, self.bars // loops)
            position = replace(position, bar=bar)
        places = [Place(each.key, self.mark(at)) for at, each in enumerate(self.round.legs)]
        sounding, count = beat_shown(position, self._pulse.beats_in_bar if self._pulse else 0)
        late = self._late
        return RoundView(
            title=leg.read.title,
            places=tuple(places),
            current=index,
            late=places[late[0]].key if late else None,
            chart=leg.on if leading_on or loop + 1 >= loops else leg.back,
            tempo=self.round.tempo,
            double_time=leg.read.double_time,
            asking=self.asking and self.round.timed,
            message=message,
            sounding=sounding,
            count=count,
            foot=while_running(foot, "faster", "slower") if self.running else foot,
            stray=stray_line(self.round.strays[index], self.preferences),
        )

    def mark(self, index: int) -> Mark:
        """Return what has become of a key."""
        recall = self.round.recall_of(index)
        if recall is not None:
            return cast("Mark", recall.word)
        if self.round.is_left(index):
            return "left"
        return "to rate" if index < self.round.at else ""

    def screen(self, look: Look, message: str, foot: Foot) -> RenderableType:
        """Draw the key, with the one after it and what has become of each."""
        return round_screen(self.view(message, foot), look)

    def news(self, look: Look) -> list[str]:
        """Say the key where it is another one, or is to be rated now, and the one after it."""
        now = (self.index, self.asking)
        before, self._told = self._told, now
        return [] if now == before else round_lines(self.view(leading_on=True), look)
