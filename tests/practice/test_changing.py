"""A change of instrument lays every line into its range, and nothing else moves."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import parse_pitch
from drillbox.practice.adding import keep, prepare
from drillbox.practice.changing import change_setting
from drillbox.practice.preferences import preferences_from
from drillbox.store.card_rows import cards_of
from drillbox.store.opening import open_store
from drillbox.store.setting_rows import get_settings
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


def lowest(store) -> str:
    """Return each card's lowest note, in the order in which keys open."""
    return " ".join(
        min(card.line, key=lambda note: note.pitch.midi).pitch.text() for card in cards_of(store, 1)
    )


def test_each_key_lies_in_the_octave_that_fits(store):
    """Without a range within a tritone of the written A4; from E2 to E4 an octave or two lower."""
    assert lowest(store) == "A4 D5 G4 C5 F4 A#4 D#5 G#4 C#5 F#4 B4 E4"
    assert change_setting(store, "instrument", "C E2-E4", NOW) == "C E2-E4"
    assert lowest(store) == "A3 D3 G3 C3 F3 A#3 D#3 G#3 C#3 F#3 B2 E3"
    change_setting(store, "instrument", None, NOW)
    assert lowest(store).startswith("A4 D5 ")
    assert get_settings(store)["instrument"] == "concert"


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
