"""What drillbox listens for in a key: its line, or the chart where there is no line to hear."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from drillbox.music.analysis.roles import Role
from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import parse_pitch
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.practice.adding import keep, prepare
from drillbox.practice.hinting import analysis_of
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
    cards = [cards_of(store, number)[0] for number in (1, 2)]
    lines = [Listener(store, card, card, PLAIN).line for card in cards]
    assert lines[0] is None
    assert lines[1] is not None


@pytest.mark.parametrize(
    ("chords", "names"),
    [
        ("Cmaj7", "B3 D4 F4 Ab4 G4"),  # the dominant that the line implies resolves at the end
        ("F/G | Cmaj7", "B4 G4 A4 C5 E5"),  # heard as G9sus4: B isn't in it, G is
        ("Dm7 G7 | Cmaj7", "*C#4 D4 F4 *A4 B4 A4 F4 E4"),  # grace notes count as notes
    ],
)
def test_targets_are_those_of_the_analysis(store: Store, chords: str, names: str) -> None:
    """What 'show' calls a target is one to listen for, in each key: implied harmony and slash
    chords as heard."""
    line, at = [], Fraction(0)
    for name in names.split():
        length = Fraction(not name.startswith("*"), 2)
        line.append(LineNote(at, length, parse_pitch(name.lstrip("*"))))
        at += length
    chart = parse_chart(chords, parse_meter("4/4"))
    phrase = Phrase("Tin roof", parse_key("C"), 120, chart, tuple(line))
    keep(store, [prepare(phrase, PLAIN)], NOW)
    shown = analysis_of(find_phrase(store, "tin")).notes
    struck = [i for i, note in enumerate(line) if note.length]
    aimed = {n for n, i in enumerate(struck) if Role.TARGET in shown[i].roles}
    assert aimed
    for card in cards_of(store, 1):
        heard = Listener(store, card, card, PLAIN).line
        assert heard is not None
        assert heard.targets == aimed


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
    card = cards_of(store, 1)[0]
    listener = Listener(store, card, card, PLAIN, ascii=True)
    told = "fluent? all 5 notes, in time (of several parts the one that fits best)"
    assert hear_file(listener, place, Click()).text == told
