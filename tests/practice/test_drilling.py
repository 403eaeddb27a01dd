"""A drill session over a real store: the rest it proposes, and the loops it goes by."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from fsrs import Scheduler

from drillbox.errors import NotFound, StoreFailure
from drillbox.hearing.takes import Overheard
from drillbox.memory.choose import next_go
from drillbox.memory.learning import UNLEARNT
from drillbox.memory.recall import Recall
from drillbox.music.keys import parse_key
from drillbox.music.phrases import Phrase
from drillbox.player.in_drill import InDrill, opening_line
from drillbox.player.in_round import InRound
from drillbox.practice import drilling
from drillbox.practice.adding import keep, prepare, typed_phrase
from drillbox.practice.changing import change_setting
from drillbox.practice.drilling import Drill
from drillbox.practice.hinting import hint_for
from drillbox.practice.preferences import preferences_from
from drillbox.practice.rounds import Round
from drillbox.screen.drill import ALL_DONE
from drillbox.screen.look import Look
from drillbox.store.card_rows import candidates, cards_of
from drillbox.store.checks import check_store
from drillbox.store.merging import merge
from drillbox.store.opening import open_store
from drillbox.store.phrase_edits import change_phrase
from drillbox.store.phrase_rows import delete_phrase
from drillbox.store.setting_rows import get_settings
from drillbox.store.sql import change, query
from drillbox.store.values import LONGEST_NOTE, MOST_SECONDS, NewPhrase, new_cards
from tests.conftest import copied
from tests.music.shorthand import chart, line
from tests.store.making import go, session
from tests.store.reading import attempts_of, document, members_in

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)
PREFERENCES = preferences_from({"zone": "Europe/Lisbon"})


def later(minutes: float) -> datetime:
    """Return the time so many minutes after the session's beginning."""
    return NOW + timedelta(minutes=minutes)


@pytest.fixture(scope="module")
def eight(empty: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a store with eight invented phrases; copy it, don't change it."""
    file = copied(empty, tmp_path_factory.mktemp("eight") / "store.sqlite3")
    phrases = [
        typed_phrase(title=f"Line {n}", key="C", tempo="120", chart="Dm7 G7 | Cmaj7 (A7)")
        for n in range(8)
    ]
    with open_store(file, now=NOW, backups=False) as opened:
        keep(opened, [prepare(each, PREFERENCES) for each in phrases], NOW)
    return file


@pytest.fixture
def store(eight: Path, place: Path):
    """Return an open store with eight invented phrases."""
    with open_store(copied(eight, place), now=NOW, backups=False) as opened:
        yield opened


def test_a_rest_is_due_once_after_25_minutes_of_playing(store):
    """Not before; at 25 minutes; and not again in the same session."""
    drill = Drill(store, PREFERENCES, minutes=60, now=NOW)
    drill.rate(Recall.CLEAN, later(12))
    assert not drill.rest_is_due(later(12))
    drill.rate(Recall.CLEAN, later(24.9))
    assert not drill.rest_is_due(later(24.9))
    assert drill.rest_is_due(later(25))
    drill.rate(Recall.CLEAN, later(55))
    assert not drill.rest_is_due(later(55))


def test_pauses_are_no_playing(store):
    """Twenty minutes of playing and a pause of half an hour: no rest is due yet."""
    drill = Drill(store, PREFERENCES, minutes=60, now=NOW)
    drill.rate(Recall.CLEAN, later(10))
    drill.pause(timedelta(minutes=30))
    drill.rate(Recall.CLEAN, later(50))
    assert not drill.rest_is_due(later(50))
    assert drill.rest_is_due(later(56))


def test_what_was_learnt_is_found_in_the_log(store):
    """After two days of clean goes the chances are better than before there was anything."""
    for day in (0, 1):
        drill = Drill(store, PREFERENCES, minutes=60, now=later(day * 1440))
        assert (drill.chances.learned is UNLEARNT) == (day == 0)
        for number in range(60):
            drill.rate(Recall.CLEAN, later(day * 1440 + number / 4))
    drill = Drill(store, PREFERENCES, minutes=60, now=later(2 * 1440))
    assert drill.chances.learned.base > UNLEARNT.base  # all was clean
    assert drill.chances.learned.phrases


def test_only_the_first_go_of_a_day_is_cold(store):
    """The goes at a key are numbered, over visits; a lost one leads to a slower one when the key
    comes back; undo goes back."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    first = drill.showing
    assert (first.number, first.cold) == (1, True)
    drill.rate(Recall.LOST, later(0.3))
    assert drill.showing.card.phrase_id != first.card.phrase_id
    assert drill.undo(later(0.5))
    assert (drill.showing.number, drill.showing.cold, drill.showing.tempo) == (1, True, first.tempo)
    drill.rate(Recall.LOST, later(0.6))
    while drill.showing.card.id != first.card.id:
        drill.rate(Recall.CLEAN, later(0.7))
    assert (drill.showing.number, drill.showing.cold) == (2, False)
    assert drill.showing.tempo < first.tempo
    alone = Drill(store, PREFERENCES, minutes=20, now=NOW, only=frozenset([first.card.id]))
    numbers = []
    for _ in range(5):
        numbers.append(alone.showing.number)
        alone.rate(Recall.CLEAN, NOW)
    assert numbers == [1, 2, 3, 4, 5]


def test_memory_is_moved_once_a_day_and_worked_out_once(store, monkeypatch):
    """The due day is chosen from the memory that the rating leads to; it isn't worked out twice."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    only = frozenset([drill.showing.card.id])
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW, only=only)
    worked_out, review = [], Scheduler.review_card

    def counted(*given):
        worked_out.append(given[1])
        return review(*given)

    monkeypatch.setattr(Scheduler, "review_card", counted)
    for _ in range(3):
        drill.rate(Recall.CLEAN, NOW)
    assert len(worked_out) == 1


def test_a_new_key_that_was_lost_comes_back_with_its_hints(store):
    """A step more for each lost go, up to the degrees; none any more once it was clean."""
    only = frozenset([Drill(store, PREFERENCES, minutes=20, now=NOW).showing.card.id])
    drill, seen = Drill(store, PREFERENCES, minutes=20, now=NOW, only=only), []
    for n, recall in enumerate([Recall.LOST] * 4 + [Recall.CLEAN] * 2):
        seen.append(drill.showing.hint)
        drill.rate(recall, later(n / 2))
    assert seen == [0, 1, 2, 2, 2, 0]
    assert [each.hint for each in attempts_of(store, *only)] == seen
    drill = Drill(store, PREFERENCES, minutes=20, now=later(1440), only=only)
    assert drill.showing.hint == 0


def test_what_has_piled_up_is_what_is_due_at_goal(store):
    """Forty days after keys were brought to their goal, more than a minute's worth waits.

    It is told, but in a session that the player narrowed to something else.
    """
    for day in range(4):
        drill = Drill(store, PREFERENCES, minutes=240, now=later(day * 1440))
        for _ in range(60):
            drill.rate(Recall.FLUENT, later(day * 1440))
        drill.finish(later(day * 1440))
        assert drill.piled_up.keys == 0
    away = Drill(store, PREFERENCES, minutes=1, now=later(40 * 1440))
    assert away.piled_up.keys > 10
    assert away.piled_up.minutes > 1
    assert opening_line(away, "").startswith("Due: ")
    assert opening_line(away, "Narrowed to 8 keys.") == "Narrowed to 8 keys."


def test_a_clock_that_was_a_year_ahead_puts_no_card_away(store):
    """The next go by the right clock is a day's first, and due within days of that day."""
    ahead = NOW + timedelta(days=365)
    first = Drill(store, PREFERENCES, minutes=20, now=ahead).rate(Recall.FLUENT, ahead)
    only = frozenset([first.read.id])
    again = Drill(store, PREFERENCES, minutes=20, now=NOW, only=only).rate(Recall.FLUENT, later(1))
    assert first.read.id == again.read.id
    assert again.back_in_time
    assert NOW.date() < again.after.due < NOW.date() + timedelta(days=15)
    assert check_store(store) == []  # it counts as the later of the two


@pytest.mark.parametrize(("asked", "kept"), [(None, 2), (0, 0), (5, 5)])
def test_the_loops_asked_for_stand_with_the_attempt(store, asked: int | None, kept: int):
    """The setting's number, another one for this session, or 0: until a key was pressed."""
    drill = Drill(store, PREFERENCES.with_loops(asked), minutes=20, now=NOW)
    first = drill.showing.card.id
    drill.rate(Recall.CLEAN, later(1))
    assert [each.loops for each in attempts_of(store, first)] == [kept]


def test_the_end_says_what_was_played_waits_for(store):
    """Of the phrases of this session alone; and of the keys played in it those that never stay."""
    misses, told = Counter(), set()
    for day in range(15):
        drill = Drill(store, PREFERENCES, minutes=6, now=later(day * 1440))
        for _ in range(9):
            drill.rate(Recall.LOST, later(day * 1440 + 1))
        recap = drill.finish(later(day * 1440 + 2))
        played = {(each.read.title, each.read.key.text()) for each in recap.attempts}
        misses.update(played)
        titles = {title for title, _ in played}
        assert {each.name for each in recap.waiting if each.kind == "phrase"} <= titles
        assert {each.what for each in recap.waiting} == {"both"}
        never = {each for each in played if misses[each] >= 8}
        assert {(each.title, each.key) for each in recap.slipping} == never
        told |= never
    assert told
    empty = Drill(store, PREFERENCES, minutes=2, now=later(15 * 1440)).finish(later(15 * 1440))
    assert (empty.waiting, empty.slipping) == ((), ())


def test_a_drill_says_at_once_that_all_is_owned(made: Path):
    """And not before it is; what is played then keeps it."""
    with open_store(made, now=NOW, backups=False) as opened:
        phrase = typed_phrase(title="One", key="C", tempo="120", chart="Dm7 G7 | Cmaj7 (A7)")
        keep(opened, [prepare(phrase, PREFERENCES)], NOW)
        with opened.write() as connection:
            connection.execute(change("UPDATE card SET put_aside = TRUE WHERE position > 0"))
        for day in range(60):
            drill = Drill(opened, PREFERENCES, minutes=1, now=later(day * 1440))
            if ALL_DONE in opening_line(drill, ""):
                break
            while drill.showing:
                drill.rate(Recall.FLUENT, later(day * 1440 + 1))
        assert day > 5
        drill.rate(Recall.FLUENT, later(day * 1440 + 1))
        assert drill.finish(later(day * 1440 + 1)).all_done


def test_undo_goes_back_rating_by_rating(store):
    """Each step shows the card that was rated then; the minutes that it took stay used."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    first = drill.showing.card.id
    drill.rate(Recall.CLEAN, later(1))
    second = drill.showing.card.id
    drill.rate(Recall.LOST, later(2))
    assert [each.recall for each in drill.rated] == [Recall.CLEAN, Recall.LOST]
    assert drill.undo(later(3))
    assert (drill.showing.card.id, len(drill.rated)) == (second, 1)
    assert drill.undo(later(3))
    assert (drill.showing.card.id, drill.rated) == (first, ())
    assert not drill.undo(later(3))
    assert drill.minutes_left(later(3)) == 17


def test_a_session_in_which_all_was_skipped_says_nothing_of_owning(store):
    """Nothing is left to play, though nothing is owned."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    while drill.showing:
        drill.skip(NOW)
    assert not drill.time_is_up
    assert not drill.finish(NOW).all_done


def test_a_session_ends_for_time_where_no_go_fits(store):
    """However much of it is left for a go that is too long."""
    drill = Drill(store, PREFERENCES, minutes=1, now=NOW)
    drill.rate(Recall.CLEAN, later(0.9))
    assert drill.showing is None
    assert drill.time_is_up


def test_what_is_overdue_is_due_today(store):
    """The end of a session counts the cards due as a summary does, those of before with them."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    for _ in range(12):
        drill.rate(Recall.LOST, NOW)
    drill.finish(NOW)
    keys = len({each.read.id for each in drill.rated})
    away = Drill(store, PREFERENCES, minutes=20, now=later(9 * 1440))
    assert dict(away.finish(later(9 * 1440)).due) == {away.day: keys}


def test_a_note_is_dated_when_it_is_written(store):
    """Not when its key was shown; the longest is cut, as an import would refuse it."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    drill.note("x" * 20_000, later(9))
    words = "SELECT length(note), note_at FROM card WHERE note IS NOT NULL"
    with store.read() as connection:
        (row,) = connection.execute(query(words)).all()
    assert tuple(row) == (LONGEST_NOTE, later(9))


def test_a_note_outlives_an_undo_back_to_before_it_was_written(store):
    """Written at a key's second go, it is there at the first one again, and isn't written over."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    first = drill.showing.card.id
    drill.rate(Recall.ROUGH, NOW)
    while drill.showing.card.id != first:
        drill.rate(Recall.ROUGH, NOW)
    drill.note("thumb under", NOW)
    while drill.undo(NOW):
        pass
    assert (drill.showing.card.id, drill.showing.card.note) == (first, "thumb under")


def test_a_go_left_standing_for_days_counts_as_a_day(store):
    """So that its export can be read again."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    done = drill.rate(Recall.CLEAN, NOW + timedelta(days=3))
    assert attempts_of(store, done.read.id)[0].seconds == MOST_SECONDS


def test_a_ladder_changed_meanwhile_holds_from_the_next_rating_on(store):
    """Every card was reckoned by it in another window; the session goes on by it."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    drill.rate(Recall.CLEAN, later(1))
    change_setting(store, "tempo_step", "0.2", later(2))
    drill.rate(Recall.CLEAN, later(3))
    rules = preferences_from(get_settings(store)).rules
    assert rules.tempo != PREFERENCES.rules.tempo
    assert check_store(store) == []


def test_a_phrase_deleted_meanwhile_makes_room_for_the_next(store):
    """Its rating stores nothing and says so, its hint is gone, and undoing goes to what is left."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    playing = InDrill(drill, lambda: NOW, ascii=True)
    assert "clean" in playing.actions()["clean"]().message
    first, second = drill.rated[0].read, playing.showing.card
    playing.actions()["hint"]()
    delete_phrase(store, second.phrase_id, later(1))
    assert drill.hint_view(ascii=True) is None
    said = playing.actions()["clean"]()
    assert said.message == f"'{second.title}' was deleted meanwhile; nothing is stored."
    assert not said.over
    assert playing.showing.card.phrase_id != second.phrase_id
    delete_phrase(store, first.phrase_id, later(2))
    assert "u undoes the one before" in playing.actions()["undo"]().message
    assert playing.actions()["undo"]().message == "Nothing to undo."


def test_no_note_is_kept_of_a_phrase_deleted_meanwhile(store):
    """It isn't said to be, and the next card comes."""
    playing = InDrill(Drill(store, PREFERENCES, minutes=20, now=NOW), lambda: NOW, ascii=True)
    first = playing.showing.card
    delete_phrase(store, first.phrase_id, later(1))
    said = playing.prompts()["note"].keep("thumb")
    assert said.message == f"'{first.title}' was deleted meanwhile; nothing is stored."
    assert playing.showing.card.phrase_id != first.phrase_id


@pytest.mark.parametrize(
    ("instrument", "slip"), [("concert", "Eb for E in bar 2"), ("tenor sax", "F for F# in bar 2")]
)
def test_hints_and_ears_go_by_what_is_shown(place, empty, instrument, slip):
    """Another line comes in meanwhile, by an edit or an import, and is shorter: the hints are those
    of the line before the player, and what is played is judged by it."""
    preferences = preferences_from({"zone": "UTC", "instrument": instrument})
    long = "D4 F4 A4 C5 B4 A4 G4 F4 E4 D4 E4 G4 C5"
    written = [Phrase("Tin roof", parse_key("C"), 120, chart("Dm7 G7 | Cmaj7 A7"), line(names))
               for names in (long, "D4")]  # fmt: skip
    before, after = (prepare(each, preferences) for each in written)
    with open_store(copied(empty, place), now=NOW, backups=False) as store:
        keep(store, [before], NOW)
        playing = InDrill(Drill(store, preferences, minutes=20, now=NOW), lambda: NOW, ascii=True)
        drill, played = playing.drill, playing.showing.card
        around = Round(store, preferences, [played], tempo=120, loops=1, now=NOW)
        shown = []
        for _ in range(3):
            drill.hint()
            shown.append(drill.hint_view(ascii=True))
        new = NewPhrase(after.phrase, after.order, new_cards(after.keys), after.analysis)
        change_phrase(store, 1, new, later(1))
        for step, view in enumerate(shown, start=1):
            read = playing.showing.read
            assert hint_for(store, played, read, step, ascii=True) == view
        notes = [(at / 4, at / 4 + 0.2, note.pitch.midi) for at, note in enumerate(played.line)]
        playing.propose(Overheard(0.0, notes), None)
        going = InRound(around, lambda: NOW, ascii=True)
        going.pulse()
        going.play_out()
        going.propose(Overheard(0.0, notes), 0.0)
        for each in (playing, going):
            assert each.proposal.text.startswith("fluent? all 13 notes")
        notes[8] = (2.0, 2.2, notes[8][2] - 1)
        playing.propose(Overheard(0.0, notes), None)
        assert slip in playing.proposal.text


def test_what_takes_a_deleted_phrases_numbers_is_not_taken_for_it(store):
    """A phrase that is deleted and written down anew meanwhile has the same numbers in SQLite, and
    so have its ratings: what was shown and rated of the former one changes nothing of it."""
    ids = [each.id for each in cards_of(store, 8)]
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW, only=frozenset(ids))
    drill.rate(Recall.CLEAN, later(1))
    drill.hint()
    delete_phrase(store, 8, later(2))
    phrase = typed_phrase(title="Line 7", key="C", tempo="90", chart="Dm7 | G7")
    keep(store, [prepare(phrase, PREFERENCES)], later(2))
    assert [each.id for each in cards_of(store, 8)] == ids
    (made,) = go(store, drill.rated[0].read.id, session(store, later(3)), at=later(3))
    before = cards_of(store, 8)
    assert drill.hint_view(ascii=True) is None
    for attempt in (
        lambda: drill.rate(Recall.LOST, later(4)),
        lambda: drill.note("thumb", later(4)),
        lambda: drill.undo(later(4)),
    ):
        with pytest.raises(NotFound):
            attempt()
    assert cards_of(store, 8) == before
    assert attempts_of(store, made.card_id) == [made]


@pytest.mark.parametrize("instrument", ["concert", "tenor sax"])
def test_what_is_played_of_a_phrase_joined_with_another_meanwhile_goes_there(store, instrument):
    """An import knows that the two are one: ratings, notes and hints are those of the key that
    sounds the same, and nothing is said to be deleted."""
    ids = [each.id for each in cards_of(store, 8)]
    preferences = preferences_from({"zone": "UTC", "instrument": instrument})
    drill = Drill(store, preferences, minutes=20, now=NOW, only=frozenset(ids))
    drill.rate(Recall.CLEAN, later(1))
    drill.hint()
    found = document(store)
    found["phrases"][0]["also"] = [found["phrases"].pop()["uid"]]
    found["attempts"] = []
    merge(store, members_in(found), preferences_from)
    assert len({each.phrase_id for each in candidates(store)}) == 7
    assert drill.hint_view(ascii=True) is not None
    sounding = drill.showing.card.key
    drill.note("thumb", later(2))
    drill.rate(Recall.ROUGH, later(3))
    played = [each for each in cards_of(store, 1) if each.state.attempts]
    assert [each.key.text() for each in played] == ["C", sounding.text()] != ["C", "C"]
    assert [each.note for each in played] == [None, "thumb"]
    assert drill.undo(later(4))
    assert [each.state.attempts for each in cards_of(store, 1)].count(1) == 1
    assert drill.showing.card.note == "thumb"
    assert check_store(store) == []


def test_a_phrase_deleted_while_the_next_key_is_looked_for(store, monkeypatch):
    """It was among the cards that may come, and is gone when it is read: the rating is stored and
    told of as such, and another key comes."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    playing, gone = InDrill(drill, lambda: NOW, ascii=True), []

    def read(store):
        pool = candidates(store)
        if not gone:
            coming = next_go(pool, drill.sitting, drill.rules, drill.pace, drill.chances)
            gone.append(next(each.phrase_id for each in pool if each.card_id == coming.card_id))
            delete_phrase(store, gone[0], later(1))
        return pool

    monkeypatch.setattr(drilling, "candidates", read)
    assert playing.actions()["clean"]().message.startswith("Line 0 in C: clean.")
    assert len(drill.rated) == 1
    assert drill.showing.card.phrase_id != gone[0]


def test_a_hint_is_read_once(store, monkeypatch):
    """However often a screen is drawn; where the store can't be read, the screen says so."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    playing = InDrill(drill, lambda: NOW, ascii=True)
    playing.actions()["hint"]()

    def unreadable(*_, **__):
        raise StoreFailure("The store can't be read", "Look again later.")

    with monkeypatch.context() as patch:
        patch.setattr(drilling, "hint_for", unreadable)
        view = playing.view()
        assert (view.hint, view.message) == (None, "The store can't be read. Look again later.")
        assert playing.news(Look())[-1] == view.message
    shown = playing.view().hint
    assert shown.level == 1
    assert playing.view().hint is shown
    playing.actions()["hint"]()
    assert playing.view().hint.level == 2


def test_ratings_of_a_phrase_deleted_meanwhile_are_not_damage(store):
    """They went with it; one that is gone by itself is."""
    drill = Drill(store, PREFERENCES, minutes=20, now=NOW)
    done = drill.rate(Recall.CLEAN, later(1))
    delete_phrase(store, done.read.phrase_id, later(2))
    drill.rate(Recall.CLEAN, later(3))
    assert drill.rater.lost(drill.rated) == 0
    with store.write() as connection:
        connection.execute(change("DELETE FROM attempt"))
    assert drill.rater.lost(drill.rated) == 1
