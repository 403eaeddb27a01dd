"""What drillbox listens for in a key: its line, or the chart where there is no line to hear."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import parse_pitch
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.practice.adding import keep, prepare
from drillbox.practice.listening import Listener
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
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
