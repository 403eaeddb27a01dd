"""A drill at the instrument: what each press and beat does to it, and what is shown of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import timedelta
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING

from drillbox.errors import NotFound, StoreFailure
from drillbox.memory.cards import LAST_HINT, next_tempo
from drillbox.memory.choose import once_more
from drillbox.memory.recall import Recall
from drillbox.music.pulse import Position, Pulse, pulse_of
from drillbox.output import counted
from drillbox.player.controls import while_running
from drillbox.player.listening import NOTHING
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
from drillbox.practice.drilling import REST_AFTER, Drill, NextUnread, Showing, gig_tempo
from drillbox.practice.ranges import misfit_of
from drillbox.screen.drill import ALL_DONE, DrillView, drill_lines, drill_screen, hint_lines
from drillbox.screen.footer import NO_FOOT, Foot

if TYPE_CHECKING:
    from rich.console import RenderableType

    from drillbox.hearing.takes import Overheard
    from drillbox.memory.rules import TempoRules
    from drillbox.music.charts import Chart
    from drillbox.practice.listening import Heard
    from drillbox.practice.preferences import Preferences
    from drillbox.practice.rating import Rated
    from drillbox.practice.readiness import PiledUp
    from drillbox.screen.look import Look

CAUTION = (
    "Rest five minutes in each half hour, stop on pain, mind the volume. Not medical advice; "
    "ask a licensed professional, and follow local rules on noise."
)
REST = f"You have played for {REST_AFTER // 60} minutes. {CAUTION}"


class InDrill(Session):
    """A drill session as it is played."""

    is_round = False
    notes = ("With all three hints the best rating is rough; then h plays the line, if any.",)

    def __init__(self, drill: Drill, clock: Clock, *, ascii: bool, said: str = "") -> None:
        self.drill, self.clock, self.ascii = drill, clock, ascii
        self.beats_now: Callable[[], float] | None = None
        self.position: Position | None = None
        self._beats = 0
        self.opening = opening_line(drill, said)
        self._told: tuple[str, int] | None = None  # the go and the hint that were said last
        self._heard: tuple[object, Heard] | None = None  # of which attempt, and what of it
        self._followed: list[Heard | None] = []  # what each rating that stands was given beside

    @property
    def over_heading(self) -> str:
        """Say whether the minutes or the keys ran out."""
        return "Time is up" if self.drill.time_is_up else "Nothing left to play"

    @property
    def closing(self) -> str:
        """Say what can be pressed; before the first rating none can be taken back."""
        return UNDO_OR_END if self.drill.rated else "q ends the session."

    @property
    def preferences(self) -> Preferences:
        """Return the player's settings."""
        return self.drill.preferences

    @property
    def showing(self) -> Showing:
        """Return the card before the player."""
        assert self.drill.showing is not None  # what is offered depends on ``shown``
        return self.drill.showing

    @property
    def shown(self) -> bool:
        """Return whether a card is before the player."""
        return self.drill.showing is not None

    @property
    def playable(self) -> bool:
        """Return the same: a card that is shown can be played."""
        return self.shown

    @property
    def before_player(self) -> object:
        """Return which showing of which card this is."""
        return self.drill.showing and self.drill.showing.attempt

    @property
    def done(self) -> bool:
        """Return whether no card is left, none was passed over, and no rating could be taken
        back."""
        drill = self.drill
        return drill.showing is None and not drill.rated and not drill.sitting.skipped

    def actions(self) -> Actions:
        """Return what can be done with the card."""
        rate: dict[str, Callable[[], Outcome]] = {
            recall.word: partial(self._rate, recall) for recall in Recall
        }
        found = self.proposal and self.proposal.proposed
        accept = {"accept": partial(self._rate, found)} if found else {}
        return (
            rate
            | accept
            | {
                "hint": self._hint,
                "skip": self._skip,
                "undo": self._undo,
                "faster": partial(self._change_tempo, 1),
                "slower": partial(self._change_tempo, -1),
                "stop": partial(Outcome, over=True),
            }
        )

    def prompts(self) -> Mapping[str, Prompt]:
        """Return the note to self for the card."""
        if not self.shown:
            return {}
        asked = "note (Enter saves, Esc cancels)"
        return {"note": Prompt(asked, self.showing.card.note or "", self._note)}

    def pulse(self) -> Pulse:
        """Return the card's beat, doubled where it is played so."""
        showing, mine = self.showing, self.preferences
        doubled = showing.card.double_time and mine.doubled_beat
        loops = mine.rules.loops or None
        pulse = pulse_of(showing.card.chart, showing.tempo, loops=loops, doubled=doubled)
        self._beats = pulse.beats_in_bar
        return pulse

    def charts(self) -> list[Chart]:
        """Return the card's chart at concert pitch."""
        return [self.showing.card.chart]

    def follow(self, position: Position) -> bool:
        """Take a beat as fallen; the card stays."""
        self.position = position
        return False

    def changes_at(self) -> None:
        """Return None: the card changes with its beats only."""

    def play_out(self) -> bool:
        """Return False: the card waits for its rating."""
        return False

    @property
    def proposal(self) -> Heard | None:
        """Return what was heard of the attempt at the card, until it is rated."""
        if self._heard is None or self._heard[0] != self.before_player:
            return None
        return self._heard[1]

    def rest_after(self, played: Sequence[int]) -> float:
        """Return the line's longest time without a new note in seconds, 0 at its end: as many
        notes as it has, once or several times, were played, and its last one last."""
        line = self.showing.card.line
        if not line:
            return 0.0
        times, more = divmod(len(played), len(line))
        if times and not more and (played[-1] - line[-1].pitch.midi) % 12 == 0:
            return 0.0
        quarters = max((after.onset - at.onset for at, after in pairwise(line)), default=0)
        return float(quarters * 60 / self.showing.tempo)

    def propose(self, overheard: Overheard, first_bar: float | None) -> str:
        """Work out what is proposed for the card."""
        if first_bar is not None and first_bar < overheard.since:
            return PUT_OFF
        from drillbox.practice.listening import Click, Listener  # only where something is heard

        showing = self.showing
        listener = Listener(
            self.drill.store, showing.card, showing.read, self.preferences, ascii=self.ascii
        )
        loops = self.preferences.rules.loops or None
        tempo = None if first_bar is None else showing.tempo
        click = Click(tempo, first_bar, loops, asked=showing.tempo)
        found = listener.hear_live(overheard, click)
        if found.silent:  # what was heard before is still the card's
            return NOTHING
        self._heard = (self.before_player, found)
        return ""

    def play_anew(self) -> None:
        """Drop what is proposed for the card."""
        self._heard = None

    def pause(self, length: timedelta) -> None:
        """Leave a pause out of the card's time and the session's; without a card none goes on."""
        if self.shown:
            self.drill.pause(length)

    def _rate(self, recall: Recall) -> Outcome:
        heard = self.proposal
        try:
            done = self.drill.rate(recall, self.clock(), heard and heard.stored())
        except NotFound:
            return self._deleted()
        except NextUnread:
            self._followed.append(heard)
            return Outcome("Stored, but the next key can't be read.", over=True, ended="rated")
        self._told = None
        self._followed.append(heard)
        same = self.shown and self.showing.card.id == done.read.id
        again = self.showing.tempo if same else None
        line = rated_line(done, ascii=self.ascii)
        top = self.drill.goals.get(done.read.id)
        line += _next_tempo(done, again, top, self.preferences.rules.tempo)
        if self.drill.rest_is_due(self.clock()):
            return Outcome(f"{line} {REST}", ended="rated")
        return Outcome(line, ended="rated", onward=self.shown)

    def _deleted(self) -> Outcome:
        """Go on to the next card, as the phrase of this one isn't there any more."""
        line = deleted_line(self.showing.card.title)
        self.drill.skip(self.clock())
        return Outcome(line, ended="stopped", onward=self.shown)

    def _undo(self) -> Outcome:
        heard = self._followed[-1] if self._followed else None
        said = undone(self.drill.undo, self.clock())
        del self._followed[len(self.drill.rated) :]
        if said:
            return Outcome(said)
        self._told = None
        self._heard = heard and (self.before_player, heard)
        return Outcome("Rating undone. Rate it again.", ended="stopped")

    def _skip(self) -> Outcome:
        self.drill.skip(self.clock())
        return Outcome("Skipped for this session.", ended="stopped", onward=self.shown)

    def _hint(self) -> Outcome:
        """Go up the ladder of hints; after the last one the line is heard, as part of it."""
        showing = self.showing
        if showing.hint < LAST_HINT:
            self.drill.hint()
            return Outcome()
        if not showing.card.line:
            return Outcome("That was the last hint; this phrase has no line to be played.")
        if not self.drill.timed:
            return Outcome("That was the last hint; hearing the line needs a terminal.")
        from drillbox.practice.looping import line_loop  # only for one who wants to hear it

        return Outcome(hear=line_loop(showing.card, showing.tempo, self.preferences))

    def _change_tempo(self, rungs: int) -> Outcome:
        before = self.showing.tempo
        tempo = self.drill.change_tempo(rungs)
        if tempo == before:
            return Outcome(_as_far_as_it_goes(self.showing, rungs))
        self.play_anew()
        top = self.drill.goals.get(self.showing.card.id)
        follows = _what_follows(self.showing, self.drill.rules.tempo, top)
        return Outcome(f"Tempo {tempo}{follows}.", ended="restarted")

    def _note(self, text: str) -> Outcome:
        try:
            self.drill.note(text.strip(), self.clock())
        except NotFound:
            return self._deleted()
        return Outcome("Note kept." if text.strip() else "No note.")

    def view(self, message: str = "", foot: Foot = NO_FOOT) -> DrillView:
        """Return what a screen says of the card."""
        showing = self.showing
        try:
            hint = self.drill.hint_view(ascii=self.ascii)
        except StoreFailure as problem:
            hint, message = None, message or problem.line()
        sounding, count = beat_shown(self.position, self._beats)
        return DrillView(
            title=showing.card.title,
            key=showing.read.key,
            chart=showing.read.chart,
            tempo=showing.tempo,
            climb=climb_text(showing),
            double_time=showing.card.double_time,
            minutes_left=self.drill.minutes_left(self.clock()),
            hint=hint,
            note=showing.card.note or "",
            message=message,
            sounding=sounding,
            count=count,
            foot=foot if self.beats_now is None else while_running(foot),
            stray=stray_line(misfit_of(showing.card, self.preferences), self.preferences),
        )

    def screen(self, look: Look, message: str, foot: Foot) -> RenderableType:
        """Draw the card."""
        return drill_screen(self.view(message, foot), look)

    def news(self, look: Look) -> list[str]:
        """Say the card where it is a new one, and a hint that wasn't said."""
        showing = self.showing
        now = (showing.attempt, showing.hint)
        before, self._told = self._told, now
        if now == before:
            return []
        view = self.view()
        card = [] if before and before[0] == now[0] else drill_lines(view, look)
        return [*card, *hint_lines(view, look), *([view.message] if view.message else [])]


def opening_line(drill: Drill, narrowed: str) -> str:
    """Say before the first card what the player should know of today.

    ``narrowed`` says what the session was narrowed to; then all that has piled up isn't its
    business.
    """
    lines = [narrowed] if narrowed else []
    if drill.others_open:
        lines.append(OTHERS)
    if not narrowed and drill.was_all_done:
        lines.append(ALL_DONE)
    if not narrowed and drill.piled_up.minutes > drill.sitting.minutes:
        lines.append(piled_up_line(drill.piled_up))
    return " ".join(lines)


def piled_up_line(piled: PiledUp) -> str:
    """Say how much is due, where a session doesn't hold it."""
    keys, minutes = counted(piled.keys, "key"), counted(round(piled.minutes), "minute")
    return f"Due: {keys} at goal tempo, {minutes}; what helps most comes first."


def _next_tempo(done: Rated, again: int | None, top: int | None, rules: TempoRules) -> str:
    """Say at what tempo a key comes next on this day; "" where that is no news.

    ``again`` is the tempo of the next go where that is at the same key; ``top`` the one that a
    gig wants. Tomorrow's first go is another matter: cold.
    """
    before, after = done.before.tempo.tempo, done.after.tempo.tempo
    if top is not None:
        before, after = (gig_tempo(each, done.read.goal, top) for each in (before, after))
    goal = done.read.goal if top is None else top
    after = again or once_more(after, done.tempo, done.recall, goal, rules)
    return "" if {after} == {done.tempo, before} else f" Next time today at {after}."


def _as_far_as_it_goes(showing: Showing, rungs: int) -> str:
    """Say why the tempo stays as it is."""
    how = "slow" if rungs < 0 else "fast"
    goal = "the goal, and " if rungs > 0 and showing.tempo == showing.card.goal else ""
    return f"Tempo {showing.tempo}: that is {goal}as {how} as it goes."


def _what_follows(showing: Showing, rules: TempoRules, top: int | None) -> str:
    """Say what a changed tempo means for the key, as far as its hints leave that open.

    ``top`` is the tempo that a gig wants.
    """
    if showing.hint >= LAST_HINT:
        return "; with all three hints the best rating is rough, so it doesn't climb"
    if showing.tempo >= showing.card.goal:
        return ": rated clean, this key has reached its goal"
    reached = showing.card.state.tempo
    clean = next_tempo(reached, showing.tempo, Recall.CLEAN, showing.card.goal, rules)
    if top is not None and reached.tempo >= top:
        return f" for this go; for the gig the key stays at {top}"
    if top is not None and showing.tempo >= top:
        return ": rated clean, this key has reached the gig's tempo"
    if clean.tempo == reached.tempo:
        return f" for this go; the key stays at {reached.tempo}"
    return ": rated clean, this key climbs on from here"


def climb_text(showing: Showing) -> str:
    """Say where a key's climb stands, and which go of the session, or of the day, this is."""
    again = f"go {showing.number}" if showing.number > 1 else "again today"
    return f"goal {showing.card.goal}, {'first go today' if showing.cold else again}"
