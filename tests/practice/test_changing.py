"""Change a setting, or fit the weights: every card follows."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drillbox.errors import BadInput
from drillbox.memory.candidates import Candidate
from drillbox.memory.recall import DEFAULT_WEIGHTS, Recall
from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import parse_pitch
from drillbox.music.tunes import Tune
from drillbox.practice import changing as module
from drillbox.practice.adding import keep, prepare
from drillbox.practice.changing import (
    change_gig,
    change_setting,
    change_tune,
    fit_weights,
    restore_default_weights,
)
from drillbox.practice.demo import HARD, demo_store
from drillbox.practice.drilling import Drill
from drillbox.practice.editing import Wanted, carry_out, plan_edit
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.checks import check_store
from drillbox.store.files import list_backups
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import find_phrase
from drillbox.store.reckoning import reckon, reckon_all
from drillbox.store.setting_rows import Set, get_settings, write_setting
from drillbox.store.tune_rows import NewTune, add_gig, add_tunes, find_gig, find_tune
from tests.conftest import copied
from tests.music.shorthand import chart
from tests.store.making import NOW, go, session
from tests.store.reading import attempts_of

CHART = chart("Cm7 F7 | Bbmaj7 G7*")
LINE = tuple(
    LineNote(CHART.meter.beat * place, CHART.meter.beat, parse_pitch(name))
    for place, name in enumerate(("Eb5", "D5", "C5", "A4", "Bb4"))
)


@pytest.fixture
def store(made: Path):
    """Return a store with one phrase, its line from A4 to Eb5."""
    with open_store(made, now=NOW) as opened:
        phrase = Phrase("Late kettle", parse_key("Bb"), 132, CHART, LINE)
        keep(opened, [prepare(phrase, preferences_from({}))], NOW)
        yield opened


def test_a_tune_is_changed_after_a_backup(store):
    """An edit of a tune has no undo, so that what it was is in the store's newest backup."""
    (record,) = add_tunes(store, [NewTune(Tune("Corner lamp", parse_key("C"), 120, CHART))], NOW)
    change_tune(store, record, NewTune(replace(record.tune, tempo=150)), NOW)
    assert find_tune(store, "corner").tune.tempo == 150
    newest, *_ = list_backups(store.place)
    assert newest.reason == "edit"
    with open_store(newest.path, now=NOW, backups=False) as former:
        assert find_tune(former, "corner").tune.tempo == 120


def test_a_gig_is_changed_after_a_backup(store):
    """As a tune is."""
    tunes = add_tunes(store, [NewTune(Tune("Corner lamp", parse_key("C"), 120, CHART))], NOW)
    made = add_gig(store, "Friday", NOW.date(), tunes, NOW)
    changed = change_gig(store, made, "Duo", NOW.date(), tunes, NOW)
    assert find_gig(store, "duo") == changed == replace(made, title="Duo")
    newest, *_ = list_backups(store.place)
    assert newest.reason == "edit"
    with open_store(newest.path, now=NOW, backups=False) as former:
        assert find_gig(former, "friday") == made


def lowest(store) -> str:
    """Return each card's lowest note, in the order in which keys open."""
    return " ".join(
        min(card.line, key=lambda note: note.pitch.midi).pitch.text() for card in cards_of(store, 1)
    )


@pytest.mark.parametrize(("name", "text"), [("loops", "3"), ("tempo_step", "0.2")])
def test_a_setting_put_back_follows_the_default(store, name: str, text: str):
    """Nothing is set any more, so that a drillbox to come may have found a better one."""
    default = preferences_from({}).values[name]
    assert change_setting(store, name, text, NOW) != default
    assert change_setting(store, name, None, NOW) == default
    assert get_settings(store) == {}


def test_each_key_lies_in_the_octave_that_fits(store):
    """Without a range within a tritone of the written A4; from E2 to E4 an octave or two lower."""
    assert lowest(store) == "A4 D5 G4 C5 F4 A#4 D#5 G#4 C#5 F#4 B4 E4"
    assert change_setting(store, "instrument", "C E2-E4", NOW) == "C E2-E4"
    assert lowest(store) == "A3 D3 G3 C3 F3 A#3 D#3 G#3 C#3 F#3 B2 E3"
    change_setting(store, "instrument", None, NOW)
    assert lowest(store).startswith("A4 D5 ")
    assert get_settings(store) == {}


def test_attempts_and_what_is_remembered_stay(store):
    """Two ratings before the change are there after it, and so is the card's state."""
    card = cards_of(store, 1)[0]
    go(store, card.id, session(store))
    before = attempts_of(store, card.id)
    state = cards_of(store, 1)[0].state
    change_setting(store, "instrument", "trombone", NOW)
    assert attempts_of(store, card.id) == before
    assert cards_of(store, 1)[0].state == state


def test_a_wrong_instrument_changes_nothing(store):
    """Refused before anything is written."""
    from drillbox.errors import BadInput

    with pytest.raises(BadInput, match=r"^'kazoo' can't be set as instrument") as refused:
        change_setting(store, "instrument", "kazoo", NOW)
    assert refused.value.remedy.startswith("Write one of concert, flute,")
    assert lowest(store).startswith("A4 D5 ")
    assert "instrument" not in get_settings(store)


SPRING = datetime(2026, 3, 2, 18, tzinfo=UTC)


@pytest.fixture(scope="module")
def eight_weeks(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a store with an invented player's eight weeks; copy it."""
    return demo_store(SPRING, lambda _: None, tmp_path_factory.mktemp("demo"))


@pytest.fixture
def played(eight_weeks: Path, place: Path):
    """Return a copy of that store, open."""
    with open_store(copied(eight_weeks, place), now=SPRING, backups=False) as store:
        yield store


def rows(store: Store) -> list[tuple]:
    """Return every card's state as it stands in the store."""
    words = "SELECT id, stability, difficulty, last_day, tempo, clean_run, due_day FROM card"
    with store.read() as connection:
        return [tuple(row) for row in connection.exec_driver_sql(f"{words} ORDER BY id")]


def rules(store: Store):
    """Return the rules in force."""
    return preferences_from(get_settings(store)).rules


def test_weights_are_kept_only_where_they_predict_better(played: Store):
    """Both losses are told; the store's cards are what their attempts give by the new weights."""
    before = rows(played)
    found = fit_weights(played, SPRING, lambda: None)
    assert found.attempts >= 400
    assert (found.weights is not None) == (found.loss < found.default_loss)
    assert (rules(played).weights is not None) == (found.weights is not None)
    assert not check_store(played)
    restore_default_weights(played, SPRING)
    assert rules(played).weights is None
    assert rows(played) == before


def test_from_other_weights_back_to_the_default_ones(played: Store):
    """Weights that were in force are forgotten, and every card is what it was without them."""
    before = rows(played)
    weights = [2 * weight for weight in DEFAULT_WEIGHTS[:4]] + list(DEFAULT_WEIGHTS[4:])
    reckon_all(played, Set("weights", weights, SPRING))
    assert rows(played) != before
    assert restore_default_weights(played, SPRING)
    assert rules(played).weights is None
    assert rows(played) == before
    assert not restore_default_weights(played, SPRING)


def test_too_few_attempts_are_refused(tmp_path: Path):
    """An empty store has none; the line says how many it takes."""
    with (
        open_store(tmp_path / "new.sqlite3", now=SPRING, backups=False) as store,
        pytest.raises(BadInput, match="too few") as refused,
    ):
        fit_weights(store, SPRING, lambda: None)
    assert "400" in refused.value.remedy


def test_another_ladder_reckons_every_card_anew(played: Store):
    """With a rung of 10 % the cards are what replay gives; and the way back is exact."""
    before = rows(played)
    change_setting(played, "tempo_step", "0.1", SPRING)
    assert not check_store(played)
    assert rows(played) != before
    change_setting(played, "tempo_step", None, SPRING)
    assert rows(played) == before


def begun_before(store: Store, deed: str) -> Callable[[], object]:
    """Return what carries out a deed, with all that it reads before it waits for a writer."""
    settings = preferences_from(get_settings(store))
    if deed == "edit":
        plan = plan_edit(store, settings, find_phrase(store, HARD), Wanted(goal="250"))
        return lambda: carry_out(store, plan, SPRING)
    if deed == "rate":
        return lambda: Drill(store, settings, minutes=20, now=SPRING).rate(Recall.LOST, SPRING)
    new = prepare(Phrase("Ninth rail", parse_key("C"), 120, CHART, LINE), settings)
    return lambda: keep(store, [new], SPRING)


@pytest.mark.parametrize("deed", ["edit", "rate", "add"])
def test_what_was_begun_before_a_setting_changed_goes_by_it(played: Store, deed: str):
    """Another window changes the ladder just before the change is made: every card is as its
    ratings lead to by the new one, and new ones begin by it."""
    carry = begun_before(played, deed)
    change_setting(played, "tempo_step", "0.2", SPRING)
    change_setting(played, "start_tempo", "0.5", SPRING)
    carry()
    assert check_store(played) == []
    assert reckon_all(played) == 0


def test_two_settings_changed_at_once(played: Store, place: Path):
    """The second waits while the first is set and every card reckoned: both are in force then."""

    def change_elsewhere() -> None:
        with open_store(place, now=SPRING, backups=False) as other:
            change_setting(other, "owned_days", "14", SPRING)

    waiting = threading.Thread(target=change_elsewhere)
    with played.write() as connection:
        waiting.start()
        time.sleep(0.3)  # it has read by then what it reads before it writes
        write_setting(connection, Set("tempo_step", 0.15, SPRING))
        reckon(connection)
    waiting.join()
    assert {"tempo_step", "owned_days"} <= get_settings(played).keys()
    assert check_store(played) == []


def test_the_default_weights_are_the_librarys():
    """Twenty-one of them, as the library has them."""
    from fsrs.scheduler import DEFAULT_PARAMETERS

    assert tuple(DEFAULT_PARAMETERS) == DEFAULT_WEIGHTS


def test_of_very_many_attempts_some_cards_are_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """All below the bound, whole cards up to it, of every key, and the same each time."""
    cards = [Candidate(n, n // 12, n % 12, 16.0, 120, 100, last_day=9, clean=7, missed=3)
             for n in range(1200)]  # fmt: skip
    assert sorted(
        module._cards_to_fit([*cards, cards[0]._replace(card_id=-1, last_day=0)])
    ) == list(range(1200))
    monkeypatch.setattr(module, "MOST", 1000)
    drawn = module._cards_to_fit(cards)
    assert len(drawn) == 100
    assert {each % 12 for each in drawn} == set(range(12))
    assert module._cards_to_fit(cards) == drawn
