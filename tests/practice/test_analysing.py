"""Which key of a phrase is meant, as the player reads keys."""

from __future__ import annotations

import pytest

from drillbox.errors import BadInput
from drillbox.music.keys import in_order, parse_key
from drillbox.music.phrases import Phrase
from drillbox.practice.as_read import chosen_key
from drillbox.practice.preferences import preferences_from
from tests.music.shorthand import chart

MAJOR = Phrase("Late kettle", parse_key("C"), 132, chart("Dm7 G7 | Cmaj7 A7*"))
MINOR = Phrase("North landing", parse_key("Dm"), 132, chart("Em7b5 A7 | Dm6 B7*"))


@pytest.mark.parametrize(
    ("phrase", "instrument", "typed", "concert"),
    [
        (MAJOR, "concert", "Bb", "Bb"),
        (MAJOR, "concert", "b♭ major", "Bb"),
        (MAJOR, "concert", "F#", "Gb"),
        (MAJOR, "trumpet", "Bb", "Ab"),
        (MAJOR, "alto sax", "A", "C"),
        (MINOR, "concert", "Abm", "G#m"),
        (MINOR, "tenor sax", "Em", "Dm"),
    ],
)
def test_a_key_is_named_as_it_is_read(phrase, instrument: str, typed: str, concert: str):
    """In any spelling; a trumpet's Bb is concert Ab, an alto's A concert C."""
    preferences = preferences_from({"instrument": instrument})
    keys = in_order(phrase.key, "fourths")
    assert chosen_key(typed, phrase, keys, preferences) == parse_key(concert)


@pytest.mark.parametrize("typed", ["Dm", "H", "", "G major minor"])
def test_what_is_no_key_of_the_phrase_is_refused_with_those_that_are(typed: str):
    """The other mode, no key at all, nothing: the twelve are named as they are read."""
    preferences = preferences_from({"instrument": "trumpet"})
    with pytest.raises(BadInput) as refused:
        chosen_key(typed, MAJOR, in_order(MAJOR.key, "fourths"), preferences)
    assert refused.value.remedy == "Its keys are D, G, C, F, Bb, Eb, Ab, Db, Gb, B, E, A"
