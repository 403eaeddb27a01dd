"""A phrase that comes in: at concert pitch, in twelve keys, its line where it can be played."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path

import pytest

from drillbox.errors import BadInput
from drillbox.music.keys import parse_key
from drillbox.music.moving.instruments import Breaks
from drillbox.music.phrases import Phrase
from drillbox.music.pitch import UNISON, Interval
from drillbox.practice.adding import (
    BroughtIn,
    Incoming,
    bring_in,
    keep,
    prepare,
    sounding,
    typed_phrase,
)
from drillbox.practice.preferences import Preferences, preferences_from
from drillbox.practice.taking import as_said, page_for
from drillbox.store.opening import open_store
from drillbox.tick import Tick, silent
from tests.music.shorthand import chart, line, symbols

PHRASE = Phrase(
    "Late kettle", parse_key("Bb"), 132, chart("Cm7 F7 | Bbmaj7 G7*"), line("Eb5 D5 C5 A4 Bb4")
)


ONE = Fraction(1)


def player(**settings: str) -> Preferences:
    return preferences_from(settings)


class Player:
    """Somebody who takes or declines what is proposed, and remembers what was said."""

    def __init__(self, *, takes: bool) -> None:
        self.takes = takes
        self.heard: list[str] = []

    def taken_as_written(self, written: Phrase, sounding: Phrase) -> None:
        self.heard.append(f"{written.key.text()} sounds {sounding.key.text()}")

    def skipped(self, title: str) -> None:
        self.heard.append(f"skipped {title}")

    def turnarounds(self, read: Sequence[Phrase]) -> bool:
        self.heard += [symbols(each.chart) for each in read]
        return self.takes

    def no_room(self, titles: Sequence[str]) -> None:
        self.heard += [f"no room in {title}" for title in titles]

    def octave_breaks(self, phrase: Phrase, found: Breaks) -> bool:
        if found:
            self.heard.append(f"{phrase.title}: {' '.join(key.text() for key, _ in found)}")
        return self.takes and bool(found)

    def carrying(self) -> AbstractContextManager[Tick]:
        return nullcontext(silent)


def brought(
    phrase: Phrase, preferences: Preferences, player: Player | None = None, *, concert: bool = True
) -> BroughtIn:
    """Return one phrase brought in, with nothing declined."""
    asks = player or Player(takes=True)
    return bring_in([Incoming(phrase, concert=concert)], preferences, asks)[0]


@pytest.mark.parametrize("instrument", ["tenor sax", "trombone", "double bass", "flute", "C C2-C4"])
def test_every_line_lies_in_the_range_of_the_instrument(instrument: str):
    """A line of a tritone fits any instrument of two octaves, in each of the twelve keys."""
    preferences = player(instrument=instrument)
    low, high = (pitch.midi for pitch in preferences.sounding_range or ())
    for version in prepare(PHRASE, preferences).keys:
        heights = [note.pitch.midi for note in version.line]
        assert low <= min(heights) <= max(heights) <= high, version.key.text()
    assert brought(PHRASE, preferences).view.misfits == ()


def test_without_an_instrument_lines_move_a_tritone_at_most():
    """From the written A4: between Eb4 and Eb5 in every key."""
    for version in prepare(PHRASE, player()).keys:
        lowest = min(note.pitch.midi for note in version.line)
        assert abs(lowest - 69) <= 6, version.key.text()


def test_what_is_understood_is_as_the_player_reads_it():
    """Concert Bb is a tenor's C; all twelve follow, and the first is the written key."""
    preferences = player(instrument="tenor sax")
    found = brought(PHRASE, preferences).view
    assert found.phrase.key == parse_key("C")
    assert symbols(found.phrase.chart) == "Dm7 G7 | Cmaj7 A7*"
    keys = [version.key.text() for version in found.versions]
    assert keys == ["C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "B", "E", "A", "D", "G"]
    assert found.instrument == "tenor sax"


def test_what_was_typed_comes_back_as_it_was_typed():
    """On every transposing instrument: written to concert, and read again, it is the same."""
    for instrument in ("tenor sax", "alto sax", "trumpet", "horn", "clarinet"):
        preferences = player(instrument=instrument)
        typed = typed_phrase(
            title="Side gate", key="F", tempo="120", chart="Gm7 Gb7 | Fmaj7 (D7#9)"
        )
        read = brought(typed, preferences, concert=False).view
        assert read.phrase == typed
        assert read.versions[0] == typed


def test_at_concert_pitch_nothing_moves():
    """No instrument is set: what was typed is what sounds."""
    assert sounding(PHRASE, player()) is PHRASE


def test_the_own_order_needs_keys():
    """Refused with the way to set them; once set, it is followed."""
    with pytest.raises(BadInput, match="own order of keys is empty"):
        prepare(PHRASE, player(order="own"))
    own = player(order="own", own_order="C G D A E B Gb Db Ab Eb Bb F")
    keys = [version.key.text() for version in prepare(PHRASE, own).keys]
    assert keys == ["Bb", "F", "C", "G", "D", "A", "E", "B", "Gb", "Db", "Ab", "Eb"]


@pytest.mark.parametrize(
    ("style", "bars"),
    [
        ("dominant", "Cm7 F7 | Bbmaj7 G7*"),
        ("two-five", "Cm7 F7 | Bbmaj7 _ Dm7* G7*"),
        ("substitute", "Cm7 F7 | Bbmaj7 Db7*"),
    ],
)
def test_a_turnaround_is_proposed_in_the_players_manner(style: str, bars: str):
    """To a first Cm7: G7, its ii-V, or the Db7 a semitone above; none where there is one."""
    bare = typed_phrase(title="Bare", key="Bb", tempo="120", chart="Cm7 F7 | Bbmaj7")
    asks = Player(takes=True)
    assert brought(bare, player(turnaround=style), asks).prepared.phrase.chart == chart(bars)
    assert len(asks.heard) == 1
    assert brought(PHRASE, player(turnaround=style), asks).prepared.phrase.chart == PHRASE.chart
    assert len(asks.heard) == 1


def test_what_is_declined_is_left_as_it_was():
    """No turnaround, no octave broken; both were offered."""
    asks, narrow = Player(takes=False), player(instrument="C C4-C5")
    wide = replace(PHRASE, chart=chart("Cm7 F7 | Bbmaj7"), line=line("C4 C5 D5 C5"))
    found = brought(wide, narrow, asks)
    assert found.prepared.phrase == wide
    assert len(asks.heard) == 2
    assert found.view.breaks == ()
    assert found.view.misfits
    taken = brought(wide, narrow, Player(takes=True))
    assert taken.view.breaks
    assert taken.view.misfits == ()


def test_no_turnaround_is_laid_over_the_line():
    """Over G7 a D would be the 5, a D flat rubs: then there is none, and that is said."""
    asks = Player(takes=True)
    plain = replace(PHRASE, chart=chart("Cm7 F7 | Bbmaj7"))
    for title, last in (("Roomy", "D5"), ("Full", "Db5")):
        full = replace(plain, title=title, line=line(f"Eb5 D5 C5 A4 Bb4 - {last}", length=ONE))
        brought(full, player(), asks)
    assert asks.heard == ["Cm7 F7 | Bbmaj7 G7*", "no room in Full"]


def test_of_what_is_read_as_written_the_first_that_moved_is_told():
    """A page at concert pitch stays; without an instrument nothing moves and nothing is said."""
    asks = Player(takes=True)
    here = [Incoming(PHRASE, concert=True), Incoming(replace(PHRASE, title="Low kettle"))]
    found = bring_in(here, player(instrument="tenor sax"), asks)
    assert [each.prepared.phrase.key.text() for each in found] == ["Bb", "Ab"]
    assert asks.heard == ["Bb sounds Ab"]
    bring_in(here, player(), asks)
    assert asks.heard == ["Bb sounds Ab"]


def test_titles_must_be_new_or_are_skipped(made: Path):
    """In the store and among themselves, whatever their case; nothing comes in by halves."""
    now = datetime(2026, 3, 2, 18, tzinfo=UTC)
    again = [Incoming(replace(PHRASE, title=title)) for title in ("LATE KETTLE", "Tap", "tap")]
    with open_store(made, now=now, backups=False) as store:
        keep(store, [brought(PHRASE, player()).prepared], now)
        with pytest.raises(BadInput, match="There is a phrase 'Late kettle' already"):
            bring_in(again, player(), Player(takes=True), store=store)
        asks = Player(takes=True)
        (only,) = bring_in(again, player(), asks, store=store, skip_taken=True)
    assert only.prepared.phrase.title == "Tap"
    assert asks.heard == ["skipped LATE KETTLE", "skipped tap"]
    with pytest.raises(BadInput, match="There is a phrase 'Tap' already"):  # before there is one
        bring_in(again, player(), Player(takes=True))


def test_bars_may_be_said_to_be_in_a_key_beside_their_pages() -> None:
    """An alto's page begins in A flat, which sounds B: of its bars in C the letters changed."""
    alto = Interval(-6, -9)
    bars = replace(PHRASE, key=parse_key("Eb"), chart=chart("Cm7 | Abmaj7"), line=())
    for said, sounds in (("Am", "Cm"), ("Cm", "Ebm")):
        read = as_said(bars, "f.xml", key=said, meter=None, interval=alto)
        assert (read.key.text(), symbols(read.chart)) == (sounds, "Cm7 | Abmaj7")
    with pytest.raises(BadInput, match="'Late kettle' is in C, and --key says D"):
        as_said(bars, "f.xml", key="D", meter=None, interval=alto)
    flat = replace(bars, key=parse_key("Gb"))
    assert as_said(flat, "f", key="D#m", meter=None, interval=UNISON).key.text() == "Ebm"


@pytest.mark.parametrize(
    ("said", "key", "bars"),
    [
        (None, "Db", "Ebm7b5 Ab7 | Dbm6"),
        ("Gm", "Bbm", "Ebm7b5 Ab7 | Dbm6"), ("Bb", "Db", "Ebm7b5 Ab7 | Dbm6"),
        ("Bbm", "C#m", "D#m7b5 G#7 | C#m6"), ("A#m", "C#m", "D#m7b5 G#7 | C#m6"),
    ],
)  # fmt: skip
def test_a_file_is_in_the_key_that_its_page_is_said_to_be_in(
    said: str | None, key: str, bars: str
) -> None:
    """An alto's B flat, which sounds D flat: by mode, by signature, or by another letter."""
    alto = Interval(-5, -9)
    page = replace(PHRASE, key=parse_key("Db"), chart=chart("Ebm7b5 Ab7 | Dbm6"), line=())
    read = as_said(page, "f.xml", key=said, meter=None, interval=alto)
    assert (read.key.text(), symbols(read.chart)) == (key, bars)
    with pytest.raises(BadInput, match="'Late kettle' is in Bb, and --key says Db"):
        as_said(page, "f.xml", key="Db", meter=None, interval=alto)


@pytest.mark.parametrize(
    ("titles", "said"),
    [
        (("Blue door", "Tin roof"), "f.abc has 2 tunes, and none is called 'Late kettle'"),
        (("Late kettle", "late  KETTLE"), "f.abc has 2 tunes of the title 'Late kettle'"),
    ],
)
def test_which_tune_of_several_takes_a_phrases_place_has_to_be_told(
    titles: tuple[str, ...], said: str
) -> None:
    """The one of its title; where none has it, or several, what is in the way is said."""
    with pytest.raises(BadInput) as caught:
        page_for([replace(PHRASE, title=each) for each in titles], "Late kettle", "f.abc")
    assert caught.value.what == said
    both = [replace(PHRASE, title="Blue door"), PHRASE]
    assert page_for(both, "late kettle", "f.abc") is PHRASE
