"""What drillbox listens for in a key: its line, or the chart where there is no line to hear."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import parse_pitch
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.practice.adding import keep, prepare
from drillbox.practice.listening import Click, Listener, hear_file
from drillbox.practice.looping import Heard as Backing
from drillbox.practice.looping import Wanted, loop_of, render
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.phrase_rows import find_phrase
from tests.store.making import NOW

PLAIN = preferences_from({"zone": "UTC"})


def test_grace_notes_alone_are_no_line_to_listen_for(store: Store) -> None:
    """They take no time, so nothing could be judged by them: the chart is listened for."""
    grace = LineNote(Fraction(0), Fraction(0), parse_pitch("C5"))
    chart = parse_chart("Dm7 G7 | Cmaj7", parse_meter("4/4"))
    phrase = Phrase("Tin roof", parse_key("C"), 120, chart, (grace,))
    held = replace(grace, onset=Fraction(1), length=Fraction(1))
    two = replace(phrase, title="Wet roof", line=(grace, held))
    keep(store, [prepare(each, PLAIN) for each in (phrase, two)], NOW)
    lines = [Listener(store, cards_of(store, number)[0], PLAIN).line for number in (1, 2)]
    assert lines[0] is None
    assert lines[1] is not None


def test_of_several_midi_parts_the_one_with_the_line_is_judged(
    store: Store, tmp_path: Path
) -> None:
    """A practice track: count-in, bass, chords and line, each on a track of its own."""
    chart = parse_chart("Dm7 G7 | Cmaj7", parse_meter("4/4"))
    names = ("D5", "F5", "A5", "B5", "E5")
    value = Fraction(3, 2)
    line = tuple(LineNote(n * value, value, parse_pitch(name)) for n, name in enumerate(names))
    keep(store, [prepare(Phrase("Tin roof", parse_key("C"), 120, chart, line), PLAIN)], NOW)
    record = find_phrase(store, "tin")
    loop = loop_of(store, PLAIN, record, Wanted(loops=2), Backing(bass="walking", line=True))
    place = tmp_path / "track.mid"
    place.write_bytes(render(loop, ".mid"))
    listener = Listener(store, cards_of(store, 1)[0], PLAIN, ascii=True)
    told = "fluent? all 5 notes, in time (of several parts the one that fits best)"
    assert hear_file(listener, place, Click()).text == told
