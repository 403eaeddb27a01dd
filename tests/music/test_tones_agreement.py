"""The check table's tones against the MusicXML schema and two libraries."""

from __future__ import annotations

import re
import warnings

import pytest

from drillbox.music.chords import Chord, tones
from drillbox.music.pitch import Name, parse_name
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.music.symbols.printed import symbol_text
from tests.music.musicxml_schema import SPEC, by_the_schema
from tests.music.symbol_table import Row, rows
from tests.rows import every_row

# Where music21 10.5, built from root, kind and degrees, departs from the MusicXML standard.
MUSIC21_DEPARTS = {
    "C7alt": "a second fifth beside an altered one is lost",
    "Galt": "a second fifth beside an altered one is lost",
    "C9(add#9)": "a second ninth beside a natural one is lost",
    "C7sus2": "an added 7 comes out major",
    "C7(omit1)": "a root can't be left out",
}
# What pychord 1.4 calls a chord that we print otherwise; its quality table is the source.
PYCHORD_NAMES = {
    "m(maj7)": "mM7", "m(add9)": "madd9", "7b5b9": "7b9b5", "7b5#9": "7#9b5", "7#5b9": "7b9#5",
    "7#5#9": "7#9#5", "maj7#5": "maj7+5", "m7(add11)": "m7add11",
    "maj7(add13)": "maj7add13", "sus4(add9)": "sus4add9", "(no5)": "no5", "m7#5": "m7+5",
}  # fmt: skip
# Chords that pychord reads with other tones than the MusicXML degrees give.
PYCHORD_DEPARTS = {
    "C7b9b13": "it has an eleventh",
    "B7b9b13": "it has an eleventh",
}


def read(symbol: str) -> Chord:
    found = parse_symbol(symbol)
    assert found is not None
    return found


@every_row("row", rows())
def test_the_worked_tones_follow_from_the_schema(row: Row) -> None:
    """Each row's tones are those that the schema's definitions give, counted another way."""
    symbol, kind, degrees, sounding = row
    match = re.match(r"[A-G](##|bb|x|[b#]|)", symbol)
    assert match is not None
    derived = by_the_schema(match[0], kind, degrees)
    bass = re.search(r"/([A-G][b#]?)$", symbol)
    if bass:
        derived = [bass[1], *(each for each in derived if each != bass[1])]
    assert tuple(derived) == sounding


@every_row("kind", sorted(SPEC))
def test_every_kind_of_the_schema_has_its_tones(kind: str) -> None:
    """Over every root, a bare kind sounds what the schema says, spelled by letters."""
    for root in ("C", "Db", "F#", "Cb", "E#", "Bbb", "F##"):
        found = tones(Chord(parse_name(root), kind))
        assert [name.text() for name in found] == by_the_schema(root, kind, ())


def music21_tones(row: Row) -> set[str]:
    """Return the names that music21 gives for root, kind and degrees."""
    from music21 import harmony

    symbol, kind, degrees, _ = row
    chord = read(symbol)
    kind = harmony.CHORD_ALIASES.get(kind, kind)
    if kind == "suspended-fourth" and degrees[:1] == (("add", 7, 0),):
        # Its own kind for what the standard writes as suspended-fourth with an added 7.
        kind, degrees = "suspended-fourth-seventh", degrees[1:]
    bass = {} if chord.bass is None else {"bass": chord.bass.text().replace("b", "-")}
    root = chord.root.text().replace("b", "-")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its warnings are not ours
        built = harmony.ChordSymbol(root=root, kind=kind, **bass)
        for action, number, alter in degrees:
            built.addChordStepModification(harmony.ChordStepModification(action, number, alter))
        return {pitch.name.replace("-", "b") for pitch in built.pitches}


def test_music21_agrees_on_every_symbol_but_those_listed() -> None:
    """Built from our kind and degrees, music21 spells our tones, but for its known faults."""
    departing = {row[0] for row in rows() if music21_tones(row) != set(row[3])}
    assert departing == set(MUSIC21_DEPARTS)


def pychord_tones(symbol: str) -> set[int] | None:
    """Return the pitch classes that pychord reads, None where it can't express the chord."""
    from pychord import Chord as Theirs

    chord = read(symbol)
    root = chord.root.text()
    tail = symbol_text(chord)[len(root) :]
    head, slash, bass = tail.partition("/")
    try:
        theirs = Theirs(root + PYCHORD_NAMES.get(head, head) + slash + bass)
    except ValueError:
        return None
    return {parse_name(each).pitch_class for each in theirs.components()}


def pitch_classes(names: tuple[Name, ...]) -> set[int]:
    return {name.pitch_class for name in names}


def test_pychord_agrees_on_every_symbol_that_it_can_express() -> None:
    """Of the symbols in its table, pychord sounds ours, but for the one kind listed."""
    theirs = {row[0]: pychord_tones(row[0]) for row in rows()}
    expressed = {symbol for symbol, found in theirs.items() if found is not None}
    departing = {each for each in expressed if theirs[each] != pitch_classes(tones(read(each)))}
    assert departing == set(PYCHORD_DEPARTS)
    assert len(expressed) >= 120


@pytest.mark.parametrize("symbol", ["Bb7", "G-7", "C69", "C13b9"])
def test_symbols_that_a_general_parser_gets_wrong(symbol: str) -> None:
    """Four symbols that music21's own text parser misreads have their jazz meaning here."""
    meant = {"Bb7": "Bb D F Ab", "G-7": "G Bb D F", "C69": "C E G A D", "C13b9": "C E G Bb Db F A"}
    assert " ".join(name.text() for name in tones(read(symbol))) == meant[symbol]
