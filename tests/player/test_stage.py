"""A sitting at the instrument without a terminal: presses that are written down, an ear that hears
what it is told to, and the real beat, store and sessions."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console

from drillbox.errors import StoreFailure
from drillbox.hearing.takes import Overheard
from drillbox.player.in_drill import InDrill
from drillbox.player.in_round import InRound
from drillbox.player.in_tune import InTune
from drillbox.player.playing import InWords, OnScreen
from drillbox.player.session import PUT_OFF, UNDO_OR_END, Outcome, Prompt, Session
from drillbox.player.stage import JUDGING, Stage
from drillbox.practice import drilling
from drillbox.practice.adding import keep, prepare
from drillbox.practice.drilling import Drill
from drillbox.practice.listening import Heard
from drillbox.practice.preferences import preferences_from
from drillbox.practice.rounds import Round, round_cards
from drillbox.screen.look import Look
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import delete_phrase, find_phrase
from drillbox.terminal.presses import CONTINUED, INTERRUPT, SPACE, TIMEOUT, Press
from tests.music.fits.worked import PHRASES
from tests.practice.choruses import choruses, tune
from tests.store.making import NOW

READS = preferences_from({"zone": "UTC", "instrument": "tenor sax", "click": "off"})
LINE = [(at / 5, at / 5 + 0.1, 60 + at) for at in range(8)]


class Keys:
    """Presses in the order in which they are written down; then the keyboard is closed."""

    def __init__(self, *presses: Press) -> None:
        self._presses = list(presses)

    def read_key(self, timeout: float | None = None) -> Press:
        return self._presses.pop(0) if self._presses else INTERRUPT

    def forget_typed(self) -> None: ...


class Ear:
    """An ear that hears the same line whenever it is asked, long over."""

    problem, ready = "", True
    silent = 60.0

    def __init__(self) -> None:
        self.begun = self.asked = 0
        self.notes = LINE

    def begin(self) -> None:
        self.begun += 1

    def heard(self) -> Overheard:
        self.asked += 1
        return Overheard(0.0, list(self.notes))

    def quiet_for(self) -> float:
        return self.silent

    def close(self) -> None: ...


class Shown:
    """Where nothing is shown."""

    look = Look(plain=True)

    def measure(self) -> None: ...


def screen_of(width: int, height: int) -> Shown:
    """Return a screen of a size."""

    class Screen(Shown):
        look = Look(width, height)
        console = Console(width=width, height=height)

    return Screen()


class Quiet(Stage):
    """A stage that shows nothing but keeps what it last said."""

    said = ""

    def present(self) -> None:
        self.said = self.message

    def show_until_press(self, screen: Callable[[Look], Any]) -> bool:
        return False

    def show_typed(self, prompt: Prompt, text: str) -> None: ...

    def help(self) -> Outcome:
        return Outcome()


def on_stage(session: Session, *presses: Press) -> tuple[Quiet, Ear]:
    """Return a session on its stage, heard."""
    stage, ear = Quiet(session, Shown(), Keys(*presses)), Ear()  # type: ignore[arg-type]
    stage._listening._ear = ear
    return stage, ear


@pytest.fixture
def store(made: Path) -> Iterator[Store]:
    """Return a store with one phrase that has a line."""
    with open_store(made, now=NOW, backups=False) as opened:
        keep(opened, [prepare(next(each for each in PHRASES if each.line), READS)], NOW)
        yield opened


def a_drill(store: Store) -> InDrill:
    """Return a drill that shows its first card."""
    return InDrill(Drill(store, READS, minutes=20, now=NOW), lambda: NOW, ascii=True)


def a_round(store: Store, after: str = "") -> InRound:
    """Return a round through all keys, about to begin; ``after`` follows it."""
    cards = round_cards(store, READS, find_phrase(store, "1"), whole=True)
    played = Round(store, READS, cards, tempo=240, loops=1, now=NOW)
    return InRound(played, lambda: NOW, ascii=True, after=after)


def test_notes_after_the_last_card_are_nothing_to_judge(store: Store) -> None:
    """A player noodles on when nothing is left: it stays so."""
    session = a_drill(store)
    while session.shown:
        session.actions()["skip"]()
    stage, ear = on_stage(session)
    assert not stage.go_on_if_due()
    assert (ear.asked, stage.message) == (0, session.opening)


def test_where_all_was_skipped_no_rating_is_said_to_be_undone(store: Store) -> None:
    """The session stays, and says what can be pressed; after a rating that is u as well."""
    session = a_drill(store)
    session.actions()["clean"]()
    undo = "Nothing left to play. u undoes the last rating, anything else ends the session."
    for rated, said in ((True, undo), (False, "Nothing left to play. q ends the session.")):
        while session.shown:
            session.actions()["skip"]()
        assert (bool(session.drill.rated), session.done, session.over_line) == (rated, False, said)
        session.actions()["undo"]()


@pytest.mark.parametrize(
    ("rungs", "silent", "notes", "over"),
    [
        (0, 1.9, 8, False),
        (0, 2.1, 8, True),
        (-20, 4.0, 17, False),
        (-20, 9, 17, True),
        (-20, 2.1, 18, True),
    ],
)
def test_a_note_held_as_long_as_written_ends_no_go(
    store: Store, rungs: int, silent: float, notes: int, over: bool
) -> None:
    """The line has a half note before its last one: 1.25 seconds at 96, 3 at 40, and a player in
    their own time may take half as long again. After its last note nothing of it is to come."""
    session = a_drill(store)
    tempo = session.drill.change_tempo(rungs)
    line = [each.pitch.midi for each in session.showing.card.line]
    assert session.rest_after(line[:-1]) == 2 * 60 / tempo
    assert session.rest_after([*line, 1 + line[-1]]) == 2 * 60 / tempo
    assert session.rest_after([*line, line[-1]]) == 2 * 60 / tempo
    assert session.rest_after(line * 2) == 0
    stage, ear = on_stage(session)
    ear.notes = [(at / 5, at / 5 + 0.1, note) for at, note in enumerate(line[:notes])]
    ear.silent = silent
    stage.go_on_if_due()
    assert bool(session.proposal) == over


@pytest.mark.parametrize("begin", [a_drill, a_round])
def test_a_phrase_deleted_while_it_is_played_is_not_judged(
    store: Store, begin: Callable[[Store], InDrill | InRound]
) -> None:
    """What was heard of it can't be read against anything any more; the session goes on."""
    session = begin(store)
    stage, _ = on_stage(session)
    if isinstance(session, InRound):
        session.pulse()
        session.play_out()
    delete_phrase(store, find_phrase(store, "1").id, NOW)
    assert stage.judge(0.0) == "The phrase was deleted meanwhile: nothing is proposed."
    assert session.shown


def test_a_store_that_fails_while_it_is_judged_ends_nothing(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The notes are gone, the card is still there to be rated."""
    stage, _ = on_stage(a_drill(store))

    def fail(*_: object, **__: object) -> None:
        raise StoreFailure("The store can't be read", "Look again later.")

    monkeypatch.setattr("drillbox.practice.listening.phrase_of", fail)
    assert stage.heard().message == (
        "Nothing is proposed: The store can't be read. Look again later."
    )


def test_a_rating_taken_by_itself_may_end_the_session(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is stored and the next key can't be read: that is the end, as after a press; by then what
    it was given beside is kept, so that it could still be undone."""
    session = a_drill(store)
    stage, _ = on_stage(session, TIMEOUT, Press("u"))
    session._heard = (session.before_player, Heard("midi", "clean", None, "clean?", {}))
    stage._next_at = time.monotonic()
    fails = [True]

    def read(store: Store) -> list[Any]:
        if fails:
            raise StoreFailure("The store can't be read", f"{fails.pop()}")
        return candidates(store)

    monkeypatch.setattr(drilling, "candidates", read)
    stage.run()
    assert stage.message == "Stored, but the next key can't be read."
    assert len(session.drill.rated) == 1
    assert session.actions()["undo"]().message == "Rating undone. Rate it again."
    assert session.proposal is not None


@pytest.mark.parametrize(
    ("rungs", "kept", "first_bar", "said", "taken"),
    [
        (0, 96, None, "fluent? all 18 notes, in time", 3),
        (0, 60, None, "fluent? all 18 notes, in time, at 60", 0),
        (0, 140, None, "fluent? all 18 notes, in time, at 140", 3),
        (-4, 64, None, "fluent? all 18 notes, in time", 3),
        (0, 96, 0.0, "fluent? all 18 notes, in time", 3),
        (0, 60, 0.0, "rough? played at 60, not 96", 0),
        (0, 140, 0.0, "rough? played at 140, not 96", 3),
    ],
)
def test_what_was_slower_than_asked_is_not_taken_by_itself(
    store: Store, rungs: int, kept: int, first_bar: float | None, said: str, taken: int
) -> None:
    """A rating is for the tempo that is shown, as it was changed for this go: for a slower one in
    the player's own time only they can give it, also where a beat that counted itself in ran on
    beside it."""
    mine = preferences_from({"zone": "UTC", "click": "off", "accept_after": 3})
    session = InDrill(Drill(store, mine, minutes=20, now=NOW), lambda: NOW, ascii=True)
    assert session.drill.change_tempo(rungs) == (64 if rungs else 96)
    stage, ear = on_stage(session)
    times = [
        (float(each.onset) * 60 / kept, float(each.onset + each.length) * 60 / kept, each)
        for each in session.showing.card.line
    ]
    ear.notes = [(begin, end - 0.02, each.pitch.midi) for begin, end, each in times]
    stage.judge(first_bar)
    assert session.proposal is not None
    assert (session.proposal.text, stage.seconds_left()) == (said, taken)


def test_coming_back_from_a_stop_nothing_happens_by_itself(store: Store) -> None:
    """The hands may not be at the instrument: the next card waits for a press, and says so. What
    was played meanwhile is no go at it."""
    stage, ear = on_stage(a_drill(store), CONTINUED, CONTINUED)
    stage._next_at = time.monotonic() + 60
    stage.message = "Late kettle in Bb: clean."
    stage.wait()
    assert stage._next_at is None
    assert stage.coming() == ""
    assert stage.message == "Late kettle in Bb: clean. You were away: it waits for a press."
    assert ear.begun == 1
    stage.message = ""
    stage.wait()  # nothing would have happened by itself
    assert stage.message == ""


def test_in_words_it_says_that_it_waits_after_a_stop(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where a screen shows no countdown any more, words have to say it."""
    stage = InWords(a_drill(store), Shown(), Keys(CONTINUED))  # type: ignore[arg-type]
    stage._next_at = time.monotonic() + 60
    stage.run()
    assert capsys.readouterr().out.endswith("You were away: it waits for a press.\n")


def test_a_beat_that_stood_still_forgets_what_was_heard(store: Store) -> None:
    """It goes on at another time than it would have: what was played before was to that one."""
    session = a_drill(store)
    stage, ear = on_stage(session, CONTINUED)
    stage.start()
    before, begun = stage._first_bar, ear.begun
    while stage.wait() != CONTINUED:
        assert stage._first_bar == before
    assert stage._first_bar not in {None, before}
    assert ear.begun == begun + 1


def test_the_bell_rings_on_the_beats_chosen(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    """The count-in in full, then the first beat of each bar, as set."""
    mine = preferences_from({"zone": "UTC", "click": "bell", "click_beats": "bar"})
    session = InDrill(Drill(store, mine, minutes=20, now=NOW), lambda: NOW, ascii=True)
    stage, _ = on_stage(session)
    assert stage.open_sound() == ""
    pulse = session.pulse()
    for _, position in pulse.positions():
        stage._click.beat(position)
    counted_in, bars = pulse.count_in_bars * pulse.beats_in_bar, pulse.bars * 2
    assert capsys.readouterr().out == "\a" * (counted_in + bars)


def test_why_nothing_is_heard_is_said_beside_what_was_said(store: Store) -> None:
    """At once and not instead of it: a player reads both before the first press."""
    session = a_drill(store)
    session.opening = "Narrowed to 1 key."
    stage, ear = on_stage(session)
    ear.problem = "Not listening: no port."
    stage.run()
    assert stage.said == "Narrowed to 1 key. Not listening: no port."


def test_what_is_heard_in_a_pause_is_no_go(store: Store) -> None:
    """Noodling while the clock stands still, or the line as drillbox plays it into the room, isn't
    the player's go at the key."""
    session = a_drill(store)
    stage, ear = on_stage(session, SPACE)
    stage.pause()
    assert ear.begun == 1
    for _ in range(3):
        session.actions()["hint"]()
    heard = session.actions()["hint"]().hear
    assert heard is not None
    stage.hear(heard)
    assert ear.begun == 2


def test_what_stood_still_is_not_judged(store: Store) -> None:
    """In a drill the whole go, in a round the key in which it was, and those before."""
    drill, played = a_drill(store), a_round(store)
    assert drill.propose(Overheard(101.0, list(LINE)), 100.0) == PUT_OFF
    assert drill.proposal is None
    pulse = played.pulse()
    length = float(pulse.bar_seconds) * played.bars
    played.play_out()
    notes = [(100 + 2 * length + at, 100 + 2 * length + end, note) for at, end, note in LINE]
    assert played.propose(Overheard(100 + length / 2, notes), 100.0) == PUT_OFF
    assert 0 not in played._heard
    assert 2 in played._heard


def test_a_session_that_ends_judges_nothing_more(store: Store) -> None:
    """Ctrl-C in a round: no player waits for twelve keys to be judged. Stopped, they are."""
    for outcome, asked in ((Outcome(over=True), 0), (Outcome(ended="stopped"), 1)):
        stage, ear = on_stage(a_round(store))
        stage.start()
        stage._first_bar = 0.0
        stage.carry_out(lambda outcome=outcome: outcome)
        assert ear.asked == asked


def test_what_follows_a_round_is_told_until_it_is_stopped(store: Store) -> None:
    """Of a tag; a stop ends them all."""
    session = a_round(store, "Tin roof")
    assert session.closing.endswith("q stops here, anything else goes on to 'Tin roof'.")
    session.actions()["stop"]()
    assert session.closing == UNDO_OR_END


@pytest.mark.parametrize("kind", ["mic", "midi"])
def test_a_round_by_microphone_says_that_it_is_gone_over(store: Store, kind: str) -> None:
    """That takes seconds, in which no press is read: it is shown until then, and gone after."""
    session = a_round(store)
    stage, ear = on_stage(session)
    stage._listening._preferences = preferences_from({"listen": kind})
    stage.start()
    assert stage._beat is not None
    stage._first_bar = time.monotonic() - 1
    seen = []

    def heard() -> Overheard:
        seen.append(stage.said)
        return Overheard(0.0, list(LINE))

    ear.heard = heard  # type: ignore[method-assign]
    stage.end_attempt("played through")
    assert seen == [JUDGING if kind == "mic" else ""]
    assert stage.message == ""


@pytest.mark.parametrize(("press", "broken_off"), [(INTERRUPT, True), (Press("q"), False)])
@pytest.mark.parametrize("over", [False, True])
def test_a_round_tells_whether_it_was_broken_off(
    store: Store, press: Press, broken_off: bool, over: bool
) -> None:
    """Where the next of a tag would follow, Ctrl-C leaves them all, as ``q`` does by stopping."""
    session = a_round(store)
    if over:
        session.actions()["clean"]()
        session.actions()["stop"]()
        session.round.stopped = False
    stage, _ = on_stage(session, press)
    assert stage.run() is broken_off
    assert session.round.stopped is not broken_off


def test_no_beat_is_offered_where_nothing_is_left_to_play(store: Store) -> None:
    """A round and a tune that only ask for ratings; before, they offer it."""
    played = choruses(store, tune("Dm7 G7 | Cmaj7 | Abmaj7 | Dbmaj7"), "short", times=1)
    for session in (a_round(store), InTune(played, lambda: NOW, ascii=True)):
        stage, _ = on_stage(session)
        assert "start" in stage.actions()
        session.play_out()
        assert not {"start", "replay"} & set(stage.actions())
        assert stage.handle(SPACE) is False
        assert "does nothing here" in stage.message


@pytest.mark.parametrize("size", [(40, 12), (80, 24)])
def test_a_proposal_and_how_it_is_taken_are_two_sentences(
    store: Store, capsys: pytest.CaptureFixture[str], size: tuple[int, int]
) -> None:
    """The reasons end before the countdown begins; what takes it is told on a low terminal too."""
    session = a_drill(store)
    stage = OnScreen(session, screen_of(*size), Keys())  # type: ignore[arg-type]
    session._heard = (session.before_player, Heard("midi", "clean", None, "clean? late", {}))
    stage._next_at = time.monotonic() + 60
    stage.present()
    drawn = capsys.readouterr().out
    assert "clean? late. Taken in 60 s; press" in drawn
    assert "take it" in drawn


@pytest.mark.parametrize("size", [(40, 12), (40, 20), (80, 24)])
@pytest.mark.parametrize("hints", [0, 2])
def test_the_end_of_a_long_note_is_seen_as_it_is_typed(
    store: Store, capsys: pytest.CaptureFixture[str], size: tuple[int, int], hints: int
) -> None:
    """Where a low terminal has no room for all of it, the end is what the next letter follows."""
    session = a_drill(store)
    for _ in range(hints):
        session.actions()["hint"]()
    stage = OnScreen(session, screen_of(*size), Keys())  # type: ignore[arg-type]
    stage.show_typed(session.prompts()["note"], "thumb under " * 60 + "then over")
    assert "then over_" in capsys.readouterr().out


def test_a_wide_sign_is_taken_back_whole(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    """It covers two cells, an accent that stands by itself none."""
    stage = InWords(a_drill(store), Shown(), Keys())  # type: ignore[arg-type]
    prompt = Prompt("note", "", lambda _: Outcome())
    stage.show_typed(prompt, "ab日e\u0301")
    for text, cells in (("ab日e", 0), ("ab日", 1), ("ab", 2), ("a", 1)):
        capsys.readouterr()
        stage.show_typed(prompt, text)
        assert capsys.readouterr().out == "\b \b" * cells
