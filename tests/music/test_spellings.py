"""Spellings of chord symbols that players and files use, and what is near to the others.

Common practice, unless a source stands beside the case; what sounds is worked by hand.
"""

from __future__ import annotations

import pytest

from drillbox.music.charts import Meter
from drillbox.music.chords import tones
from drillbox.music.symbols.parsing import SymbolError, parse_symbol, reading
from drillbox.music.symbols.printed import symbol_text
from drillbox.music.symbols.typed import ChartError, chart_text, parse_chart, readings
from tests.rows import every_row

FOUR = Meter(4, 4)
FOURTH = "with a fourth and no third"

# Text, what it prints as, its tones.
READ = [
    ("C-9(maj7)", "Cm(maj9)", "C Eb G B D"),
    ("Dm9(maj7)", "Dm(maj9)", "D F A C# E"),
    ("Fmi11(ma7)", "Fm(maj11)", "F Ab C E G Bb"),
    ("A-13(M7)", "Am(maj13)", "A C E G# B D F#"),
    ("C(♯11)", "Cadd#11", "C E G F#"),
    ("Ab(#11)", "Abadd#11", "Ab C Eb D"),
    ("Cm(b6)", "Cm(addb6)", "C Eb G Ab"),
    ("F-(♭6)", "Fm(addb6)", "F Ab C Db"),
    ("C7[b9]", "C7b9", "C E G Bb Db"),
    ("Bb7[#9,b13]", "Bb7#9b13", "Bb D F Ab C# Gb"),
    ("Em7[b5]", "Em7b5", "E G Bb D"),
    ("C(6/9)", "C69", "C E G A D"),
    ("Gm(6/9)", "Gm69", "G Bb D E A"),
    ("F(6)", "F6", "F A C D"),
    ("C7/13", "C13", "C E G Bb D F A"),
    ("F7/9", "F9", "F A C Eb G"),
    ("Dm7/9", "Dm9", "D F A C E"),
    ("G7/b9", "G7b9", "G B D F Ab"),
    ("Bb7/#11", "Bb7#11", "Bb D F Ab E"),
    ("A7/b9/b13", "A7b9b13", "A C# E G Bb F"),
    ("G7/b9/D", "G7b9/D", "D G B F Ab"),
    ("C7(4)", "C7sus4", "C F G Bb"),
    ("D7(4/9)", "D9sus4", "D G A C E"),
    ("C7sus4/3", "C7(add4)", "C E F G Bb"),
    ("Fsus4/3", "Fadd4", "F A Bb C"),
    ("C°7(maj7)", "Cdim7(addmaj7)", "C Eb Gb Bbb B"),
    ("F#dim7(maj7)", "F#dim7(addmaj7)", "F# A C Eb E#"),
    ("Cm(#7)", "Cm(maj7)", "C Eb G B"),
    ("A-(♯7)", "Am(maj7)", "A C E G#"),
    ("C7alt.", "C7alt", "C E Gb G# Bb Db D#"),
    ("E alt.", "E7alt", "E G# Bb B# D F F##"),
    ("Fmin.7", "Fm7", "F Ab C Eb"),
    ("CΔ+", "Cmaj7#5", "C E G# B"),
    ("Cmaj7+", "Cmaj7#5", "C E G# B"),
    ("Cmaj9+", "Cmaj9#5", "C E G# B D"),
    ("Cmaj+", "Caug", "C E G#"),
    ("C2", "Cadd9", "C E G D"),
    ("Eb2/G", "Ebadd9/G", "G Eb Bb F"),
    ("Dm2", "Dm(add9)", "D F A E"),
    ("Db Maj7", "Dbmaj7", "Db F Ab C"),
    ("C half-dim", "Cm7b5", "C Eb Gb Bb"),
    ("F#half-diminished7", "F#m7b5", "F# A C E"),
    # a ninth chord with a fourth and no third, as players mean it
    ("C11", "C9sus4", "C F G Bb D"),
    ("Eb11", "Eb9sus4", "Eb Ab Bb Db F"),
    ("G11(b9)", "G7sus4b9", "G C D F Ab"),
    ("A11sus", "A9sus4", "A D E G B"),
    ("C9(add11)", "C9(add11)", "C E G Bb D F"),
    # signs that stand for others: a long dash, a diameter sign
    ("C—7", "Cm7", "C Eb G Bb"),
    ("F—9", "Fm9", "F Ab C Eb G"),
    ("C⌀7", "Cm7b5", "C Eb Gb Bb"),
    ("B⌀", "Bm7b5", "B D F A"),
    # the major seventh behind its number, or as a j
    ("C7M", "Cmaj7", "C E G B"),
    ("Eb7M(#11)", "Ebmaj7#11", "Eb G Bb D A"),
    ("Cm7M", "Cm(maj7)", "C Eb G B"),
    ("C-7M", "Cm(maj7)", "C Eb G B"),
    ("Cj7", "Cmaj7", "C E G B"),
    ("Gj9/D", "Gmaj9/D", "D G B F# A"),
    ("C7aug", "C7#5", "C E G# Bb"),
    ("F9aug", "F9#5", "F A C# Eb G"),
    ("Csusb9", "C7sus4b9", "C F G Bb Db"),
    ("Esus(b9)", "E7sus4b9", "E A B D F"),
]


@every_row(("text", "printed", "sounding"), READ)
def test_a_players_spelling_is_read(text: str, printed: str, sounding: str) -> None:
    """It prints in one form, and sounds as worked by hand."""
    chord = parse_symbol(text)
    assert chord is not None
    assert symbol_text(chord) == printed
    assert {each.text() for each in tones(chord)} == set(sounding.split())


# Text, nearest symbol.
NEAR = [
    ("C(m7)", "Cm7"), ("G(min7b5)", "Gm7b5"), ("C7((b9))", "C7b9"), ("Cmaj7.", "Cmaj7"),
    ("F-7th", "Fm7"), ("Bb7th", "Bb7"), ("D minor seventh", "Dm7"), ("Eb major 7th", "Ebmaj7"),
    ("A seven flat nine", "A7b9"), ("G dominant seventh", "G7"), ("Cm7_b5", "Cm7b5"),
    ("C^", "Cmaj7"), ("C^7", "Cmaj7"), ("F^9", "Fmaj9"), ("A-^", "Am(maj7)"),
    ("G-^7", "Gm(maj7)"), ("Bb^7#11", "Bbmaj7#11"), ("D^/F#", "Dmaj7/F#"), ("C^13", "Cmaj13"),
    ("C+11", "C7#11"), ("Bb+11/D", "Bb7#11/D"), ("Csus2b9", "C7b9"), ("Cj", "C"),
]  # fmt: skip


@every_row(("text", "nearest"), NEAR)
def test_the_nearest_symbol_is_the_one_that_sounds_so(text: str, nearest: str) -> None:
    """What is refused is answered with the symbol that its words or signs say."""
    with pytest.raises(SymbolError) as refused:
        parse_symbol(text)
    assert refused.value.nearest == nearest


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("Db Maj7 | Gb7", "Dbmaj7 | Gb7"), ("D min7 G 7 | C Maj 7", "Dm7 G7 | Cmaj7"),
        ("C half-dim F7[b9, b13]", "Cm7b5 F7b9b13"), ("Bb maj7/D", "Bbmaj7/D"),
        ("Dm7 G7 | C maj7 (A 7)", "Dm7 G7 | Cmaj7 (A7)"), ("C / / G7", "C / / G7"),
        ("Dm7 / G7 /", "Dm7 G7"),
    ],
)  # fmt: skip
def test_a_symbol_may_be_typed_with_a_blank_behind_its_root(typed: str, printed: str) -> None:
    """A word that can't begin a symbol belongs to the one before it."""
    assert chart_text(parse_chart(typed, FOUR)) == printed


@pytest.mark.parametrize(
    ("typed", "column"),
    [("C/", 3), ("Dm7 | G7/ ", 10), ("Dm7 G7/ | C", 8), ("Dm7 (G7/)", 9), ("C F/ G A7", 5)],
)
def test_an_unfinished_slash_chord_is_refused(typed: str, column: int) -> None:
    """One slash close behind a symbol is a bass that wasn't typed, not a held beat."""
    with pytest.raises(ChartError) as refused:
        parse_chart(typed, FOUR)
    assert refused.value.problems[0][:2] == (1, column)
    assert "bass" in refused.value.problems[0][2]


@every_row(
    ("symbol", "told"),
    [
        ("C11", f"C11 is read as C9sus4, {FOURTH}; write C9(add11) for both"),
        ("(Eb11)", f"Eb11 is read as Eb9sus4, {FOURTH}; write Eb9(add11) for both"),
        ("G11b9", f"G11b9 is read as G7sus4b9, {FOURTH}; write G9(add11) for both"),
        ("F2", "F2 is read as Fadd9, with its third; write Fsus2 for none"),
        ("C11(b9)", f"C11(b9) is read as C7sus4b9, {FOURTH}; write C9(add11) for both"),
        ("(C11(13))", f"C11(13) is read as C13sus4, {FOURTH}; write C9(add11) for both"),
        ("C2(#11)", "C2(#11) is read as C(add9,add#11), with its third; write Csus2 for none"),
        ("C11sus", ""), ("Cm11", ""), ("C9sus4", ""), ("C#9", ""), ("N.C.", ""), ("C11?", ""),
    ],
)  # fmt: skip
def test_what_others_may_mean_otherwise_is_told(symbol: str, told: str) -> None:
    """How it is read, and what to write for the other meaning; nothing where all agree."""
    assert reading(symbol) == told


def test_a_chart_tells_each_such_symbol_once() -> None:
    """In the order of the chart."""
    told = readings("C11 F2 | C11 (G7)")
    assert [each.split()[0] for each in told] == ["C11", "F2"]
