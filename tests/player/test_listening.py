"""A drill that listens: a rating is proposed from what was played, the player's is stored."""

from __future__ import annotations

import json
import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from drillbox.hearing.takes import Overheard
from drillbox.memory.recall import Recall
from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import parse_pitch
from drillbox.player.in_round import InRound
from drillbox.practice.adding import keep, prepare
from drillbox.practice.listening import LONGEST, Click, Listener
from drillbox.practice.preferences import Preferences, preferences_from
from drillbox.practice.rounds import Round, round_cards
from drillbox.store.card_rows import card
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import find_phrase
from drillbox.store.setting_rows import set_setting
from tests.hearing.test_reasons import CHART, LINE
from tests.player.children import BEAT, ended, ratings, spawn

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
PITCHES = [note.pitch.midi for note in LINE]


@pytest.fixture
def heard_by(made: Path, tmp_path: Path) -> Iterator[tuple[Path, int]]:
    """Return a store with one line, heard through a FIFO as a raw MIDI device, and its far end."""
    cable = tmp_path / "midi1"
    os.mkfifo(cable)
    end = os.open(cable, os.O_RDWR)
    phrase = Phrase("Tin kettle", parse_key("Bb"), 240, CHART, LINE)
    with open_store(made, now=NOW, backups=False) as store:
        for name, value in {"click": "off", "next_after": 0, "listen": "midi", "loops": 1,
                            "listen_to": str(cable)}.items():  # fmt: skip
            set_setting(store, name, value)
        keep(store, [prepare(phrase, preferences_from({}))], NOW)
    yield made, end
    os.close(end)


def play(end: int, pitches: list[int], quarter: float = 0.25) -> None:
    """Play eighths on the cable, each one on its own time."""
    began = time.monotonic()
    for number, pitch in enumerate(pitches):
        time.sleep(max(0.0, began + number * quarter / 2 - time.monotonic()))
        os.write(end, bytes([0x90, pitch, 80]))
        time.sleep(quarter / 3)
        os.write(end, bytes([0x80, pitch, 0]))


def proposed(child) -> Recall:
    """Return the rating that is proposed next: how well the notes keep time is the machine's
    doing where it is busy."""
    child.expect("(lost|rough|clean|fluent)\\? ")
    return Recall[child.match[1].upper()]


def proposals(place: Path) -> list[tuple[int, int | None, dict]]:
    """Return (rating, proposal, features) of each attempt that was heard."""
    with closing(sqlite3.connect(place)) as database:
        rows = database.execute(
            "SELECT recall, proposed, features FROM heard JOIN attempt ON attempt.id = attempt_id"
        ).fetchall()
    return [(recall, proposed, json.loads(features)) for recall, proposed, features in rows]


def test_in_the_players_own_time_accepted_undone_and_overruled(heard_by):
    """No beat at all: two seconds after the last note the proposal stands there; Enter accepts
    it, u brings it back as it was, a letter overrules it, Enter accepts the next one, and all are
    stored beside what was proposed."""
    place, end = heard_by
    child = spawn(place, "drill")
    child.expect("Tin kettle")
    time.sleep(1.5)  # the ear is open
    play(end, PITCHES)
    first = proposed(child)
    child.expect("take it")
    child.send("\r")
    child.expect(f"{first.word}\\.")
    child.send("u")
    child.expect("Rating undone")
    child.expect("take it")
    child.send("r")
    child.expect("rough\\.")
    play(end, [*PITCHES[:8], 73, *PITCHES[9:]])
    second = proposed(child)
    child.expect("D♭ for D in")
    child.send("\r")
    child.expect(f"{second.word}\\.")
    child.send("q")
    ended(child)
    assert ratings(place) == [2, second]
    taken_back, overruled, accepted = proposals(place)
    assert (taken_back[:2], overruled[:2]) == ((first, first), (2, first))
    assert accepted[:2] == (second, second)
    assert (accepted[2]["right"], accepted[2]["wrong"]) == (10, 1)


def test_to_the_beat_it_proposes_when_the_loops_are_over(heard_by):
    """Played to the beat and not to the end: the loop ends, and the proposal is there, until it
    is played once more."""
    place, end = heard_by
    child = spawn(place, "drill")
    child.expect("Tin kettle")
    time.sleep(1.5)
    child.send(" ")
    child.expect(BEAT)
    time.sleep(1.9)
    play(end, PITCHES[:5], quarter=60 / 144)
    assert proposed(child) is Recall.LOST
    child.send("a")
    child.expect(BEAT)
    child.send(" ")  # stops the beat, and takes nothing of the go before
    time.sleep(0.5)
    child.send("c")
    child.expect("clean\\.")
    child.send("q")
    ended(child)
    assert ratings(place) == [3]
    assert proposals(place) == []


def test_it_accepts_by_itself_where_that_is_set(heard_by):
    """A second is counted down, then the proposal is stored; any press would have held it."""
    place, end = heard_by
    with open_store(place, now=NOW, backups=False) as store:
        set_setting(store, "accept_after", 1)
    child = spawn(place, "drill", size=(24, 200))  # whatever was heard, on one line
    child.expect("Tin kettle")
    time.sleep(1.5)
    play(end, PITCHES)
    taken = proposed(child)
    child.expect("Taken in 1 s")
    child.expect(f"{taken.word}\\.")
    child.send("q")
    ended(child)
    assert ratings(place) == [taken]


def test_in_words_it_says_how_a_proposal_is_taken(heard_by):
    """On plain lines the controls are said anew at the first proposal, which changes them."""
    place, end = heard_by
    child = spawn(place, "--plain", "drill", size=(24, 200))
    child.expect("Tin kettle")
    time.sleep(1.5)
    play(end, PITCHES)
    taken = proposed(child)
    child.expect("Controls: space take it, l lost.*, a once more")
    child.send("\r")
    child.expect(f"{taken.word}\\.")
    child.send("q")
    ended(child)
    assert proposals(place)[0][:2] == (taken, taken)


def test_without_a_device_the_drill_goes_on(heard_by, tmp_path: Path):
    """One line says that nothing is heard; the letters rate as ever."""
    place, _ = heard_by
    with open_store(place, now=NOW, backups=False) as store:
        set_setting(store, "listen_to", str(tmp_path / "unplugged"))
    child = spawn(place, "drill")
    child.expect("Not listening:")
    child.send("c")
    child.expect("clean\\.")
    child.send("q")
    ended(child)
    assert ratings(place) == [3]
    assert proposals(place) == []


def test_a_device_that_vanishes_in_mid_drill_is_one_line(heard_by):
    """A note that sticks and a flood of controllers don't keep the proposal away; unplugged in the
    middle of a go, the drill says so once, goes on by letters, and no rating is missing."""
    place, end = heard_by
    child = spawn(place, "drill", size=(24, 100))
    child.expect("Tin kettle")
    time.sleep(1.5)
    play(end, PITCHES[:6])
    os.write(end, bytes([0xB0, 1, 1]) * 4000)
    play(end, PITCHES[6:10])
    os.write(end, bytes([0x90, PITCHES[10], 80]))  # and no end of it
    child.expect("(fluent|clean|rough|lost)\\? ")  # a busy machine may have held the notes up
    child.send("f")
    child.expect("fluent\\.")
    play(end, PITCHES[:5])
    os.dup2(os.open(os.devnull, os.O_RDWR), end)  # unplugged
    child.expect("Nothing more is heard: the device is gone")
    shown = child.after
    child.send("c")
    child.expect("clean\\.")
    shown += child.before
    child.send("r")
    child.expect("rough\\.")
    shown += child.before
    child.send("q")
    shown += ended(child)
    assert "\\? " not in shown.partition("lost")[0]
    assert ratings(place) == [4, 3, 2]
    assert [row[0] for row in proposals(place)] == [4]


def test_listening_can_be_left_off_for_once(heard_by):
    """``--listen off`` opens no device."""
    place, end = heard_by
    child = spawn(place, "drill", "--listen", "off")
    child.expect("Tin kettle")
    time.sleep(1.0)
    play(end, PITCHES)
    child.send("f")
    child.expect("fluent\\.")
    child.send("q")
    assert "all 11 notes" not in ended(child)
    assert proposals(place) == []


def test_trying_it_out_shows_the_notes(heard_by):
    """``listen --try midi`` names what is played on one line, until something is pressed, and
    plays no clicks: only a microphone hears these come back."""
    place, end = heard_by
    child = spawn(place, "listen", "--try", "midi", size=(24, 40))
    child.expect("press anything to end")
    assert "click" not in child.before
    play(end, PITCHES[:3])
    child.expect("\rC E♭ G {33}")
    child.send("x")
    ended(child)


@contextmanager
def a_round(
    place: Path, phrase: str = "tin", listen_delay: int = 0
) -> Iterator[tuple[InRound, Preferences]]:
    """Give a round through three keys, its beat begun."""
    with open_store(place, now=NOW, backups=False) as store:
        preferences = preferences_from({"click": "off", "listen_delay": listen_delay})
        cards = round_cards(store, preferences, find_phrase(store, phrase), order=None, start=None,
                            whole=True)[:3]  # fmt: skip
        played = Round(store, preferences, cards, tempo=120, loops=1, now=NOW)
        yield InRound(played, lambda: NOW, ascii=True), preferences


def line_at(start: float, semitones: int, line: tuple[LineNote, ...] = LINE) -> list:
    """Return the line as heard from a moment on, at 120, so many semitones higher."""
    return [
        (start + float(n.onset) / 2, start + float(n.onset) / 2 + 0.2, n.pitch.midi + semitones)
        for n in line
    ]


def sounded(notes: list, late: float) -> Overheard:
    """Return notes as a microphone hears them, its clock late by so many seconds."""
    rate = 11_025
    sound = np.zeros(round((max(end for _, end, _ in notes) + late + 1) * rate))
    for begin, end, pitch in notes:
        at = np.arange(round((end - begin) * rate)) / rate
        shape = np.minimum(1, at / 0.01) * np.minimum(1, (end - begin - at) / 0.02)
        first = round((begin + late) * rate)
        sound[first : first + len(at)] += shape * np.sin(
            2 * np.pi * 440 * 2 ** ((pitch - 69) / 12) * at
        )
    return Overheard(0.0, sound=(sound * 20_000).astype(np.int16).tobytes(), rate=rate)


def test_a_round_is_heard_key_by_key(heard_by):
    """Bb as written, Eb with its last four notes missing, Ab not at all: each has its own."""
    place, _ = heard_by
    with a_round(place) as (session, _):
        session.pulse()
        first_bar, bars = 100.0, 4.0
        notes = [*line_at(first_bar, 0), *line_at(first_bar + bars, 5, LINE[:7])]
        session.play_out()
        assert session.propose(Overheard(98.0, sorted(notes)), first_bar) == ""
        assert session.proposal is not None
        assert session.proposal.text == "fluent? all 11 notes, in time"
        session.actions()["accept"]()
        assert session.proposal.text == "lost? stopped in bar 1"
        session.actions()["rough"]()
        assert session.proposal is None
        assert "accept" not in session.actions()
        assert [each.recall for each in session.round.rated] == [Recall.FLUENT, Recall.ROUGH]
    assert [row[:2] for row in proposals(place)] == [(4, 4), (2, 1)]


@pytest.mark.parametrize("delay", [None, 0, 400])
def test_a_round_hears_long_pickups_and_nothing_of_the_key_before(heard_by, delay: int | None):
    """Five eighths lead in, and a last note lies a beat before them: all of them right in three
    keys, by MIDI (no delay) and by a microphone whose sound comes late."""
    place, _ = heard_by
    names = ["D5", "C5", "Bb4", "A4", "G4", "F4", "D5", "F5", "Eb5", "D5", "C5", "Bb4", "G4"]
    onsets = [Fraction(each, 2) for each in (-5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 8, 9)]
    line = tuple(
        LineNote(onset, Fraction(1, 2), parse_pitch(name))
        for onset, name in zip(onsets, names, strict=True)
    )
    phrase = Phrase("Long way in", parse_key("Bb"), 240, CHART, line)
    with open_store(place, now=NOW, backups=False) as store:
        keep(store, [prepare(phrase, preferences_from({}))], NOW)
    with a_round(place, "long", delay or 0) as (session, _):
        session.pulse()
        notes = [
            each for key, up in enumerate((0, 5, 10)) for each in line_at(4.0 + 4 * key, up, line)
        ]
        session.play_out()
        overheard = Overheard(0.0, sorted(notes))
        if delay is not None:
            overheard = sounded(notes, delay / 1000)
        session.propose(overheard, 4.0)
        for _ in range(3):
            assert session.proposal is not None
            assert session.proposal.text == "fluent? all 13 notes, in time"
            session.actions()["accept"]()


@pytest.mark.parametrize("late", [None, 0.2])
@pytest.mark.parametrize(("first", "title"), [(-5, "long"), (0, "long"), (0, "blue")])
def test_a_key_rested_in_is_not_heard_by_the_ends_of_its_neighbours(
    heard_by, first: int, title: str, late: float | None
):
    """A line up to the last eighth before its own beginning, played in the first and the third
    key: nothing is proposed for the one between them, with the line known or by chords alone."""
    place, _ = heard_by
    onsets = [Fraction(first + each, 2) for each in (*range(11), 14, 15)]
    line = tuple(
        LineNote(at, Fraction(1, 2), note.pitch)
        for at, note in zip(onsets, (*LINE, *LINE[:2]), strict=True)
    )
    with open_store(place, now=NOW, backups=False) as store:
        for name, notes in (("Long way in", line), ("Blue stairs", ())):
            phrase = Phrase(name, parse_key("Bb"), 240, CHART, notes)
            keep(store, [prepare(phrase, preferences_from({}))], NOW)
    notes = [*line_at(4.0, 0, line), *line_at(12.0, 10, line)]
    overheard = Overheard(0.0, sorted(notes)) if late is None else sounded(notes, late)
    with a_round(place, title, round((late or 0) * 1000)) as (session, _):
        session.pulse()
        session.play_out()
        session.propose(overheard, 4.0)
        session.round.leave(0)
        assert session.proposal is None
        session.round.leave(1)
        assert session.proposal is not None


def test_a_round_takes_each_proposal_by_itself_where_that_is_set(heard_by):
    """Each key that was heard is counted down in its turn; one that wasn't waits for a letter,
    and so does one whose rating was taken back. Each line begins when its key is on the screen.
    """
    place, end = heard_by
    with open_store(place, now=NOW, backups=False) as store:
        set_setting(store, "accept_after", 1)
    child = spawn(place, "round", "tin", "--all", "--tempo", "160", size=(24, 200))
    child.expect("key 1 of 12")
    time.sleep(1.5)
    child.send(" ")
    child.expect(BEAT)  # the first after the count-in
    for coming, up in ((2, 0), (3, 5)):
        play(end, [pitch + up for pitch in PITCHES], quarter=60 / 160)
        child.expect(f"key {coming} of 12")
    child.send("q")  # in the third key: the first two were played
    for _ in range(2):
        child.expect("Taken in 1 s")
        child.expect("(lost|rough|clean|fluent)\\.")
    child.send("u")
    child.expect("Rating undone")
    time.sleep(1.5)
    child.send("q")
    ended(child)
    assert len(ratings(place)) == 1
    assert len(proposals(place)) == 2


def test_the_last_two_minutes_are_judged_without_a_beat(heard_by):
    """Two minutes of silence by microphone before the go are left out, not the go."""
    place, _ = heard_by
    overheard = sounded(line_at(LONGEST, 0), 0.0)
    with open_store(place, now=NOW, backups=False) as store:
        first = card(store, 1)
        listener = Listener(store, first, first, preferences_from({}), ascii=True)
        assert (
            listener.hear_live(overheard, Click()).text == "fluent? all 11 notes, in time, at 120"
        )
        # to a click it is the first two minutes, but once through the chart at least
        assert listener.hear_live(overheard, Click(120, LONGEST, 1)).text.startswith("fluent?")


def test_a_flood_of_notes_is_judged_within_seconds(heard_by):
    """A key that chatters for a minute: the last notes are judged, and the drill goes on."""
    place, _ = heard_by
    flood = [(at / 1000, at / 1000 + 0.0005, 60) for at in range(60_000)]
    overheard = Overheard(0.0, [*flood, *line_at(61.0, 0)])
    with open_store(place, now=NOW, backups=False) as store:
        first = card(store, 1)
        listener = Listener(store, first, first, preferences_from({}), ascii=True)
        began = time.process_time()
        heard = listener.hear_live(overheard, Click())
        assert time.process_time() - began < 10
    assert heard.text == "fluent? all 11 notes, in time, at 120"


def test_notes_over_a_chart_without_a_beat_are_heard(heard_by):
    """No line and no beat: it says what it can't judge by, not that nothing was heard."""
    place, end = heard_by
    chart_only = Phrase("Blue stairs", parse_key("Bb"), 240, CHART)
    with open_store(place, now=NOW, backups=False) as store:
        keep(store, [prepare(chart_only, preferences_from({}))], NOW)
    child = spawn(place, "drill", "blue", size=(24, 100))
    child.expect("Blue stairs")
    time.sleep(1.5)
    play(end, PITCHES)
    child.expect("no line to judge the notes by, 11 notes heard, play to the beat for the changes")
    child.send("\r")  # there is nothing to take, and nothing more was played
    child.expect("Nothing was heard. no line")
    child.send("c")
    child.expect("clean\\.")
    child.send("q")
    ended(child)
    assert [row[:2] for row in proposals(place)] == [(3, None)]
