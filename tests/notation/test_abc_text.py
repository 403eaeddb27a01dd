"""Accents in titles, accents on stacked notes, and alternative chords in ABC 2.1."""

from __future__ import annotations

import pytest

from tests.notation.pages import HEAD, chords, doubts, notes, phrase, problems, tune
from tests.rows import every_row


@every_row(
    ("written", "title"),
    [
        (r"Attic caf\'e", "Attic café"), (r"Vis-\`a-vis", "Vis-à-vis"), (r"\^Ile", "Île"),
        (r"Ma\~nana", "Mañana"), (r'D\"acher', "Dächer"), (r"Fa\ccade", "Façade"),
        (r"\AAse", "Åse"), (r"Bl\aa", "Blå"), (r"Tr\uamvai", "Trămvai"), (r"\vSatna", "Šatna"),
        (r"Es\Ho", "Eső"), (r"T\HUz", "TŰz"), (r"\/Ore", "Øre"), (r"Br\/od", "Brød"),
        (r"\AEble", "Æble"), (r"Sk\ae{}r", "Skæ{}r"), (r"\OEuf", "Œuf"), (r"B\oeuf", "Bœuf"),
        (r"Gru\ss", "Gruß"), (r"\THorn", "Þorn"), (r"E\dha", "Eða"),
        (r"Caf\u00e9", "Café"), (r"Caf&eacute;", "Café"), (r"a\\'e", r"a\'e"), (r"\'q", r"\'q"),
    ],
)  # fmt: skip
def test_mnemonic_accents_in_titles(written: str, title: str) -> None:
    """The mnemonics of section 8.2 become their letters; what is none stays as it is."""
    assert tune('"C"C8|', HEAD.replace("T:Test", f"T:{written}")).title == title


@pytest.mark.parametrize(
    ("music", "read"),
    [
        ("[!accent!df]8|", "0 >F5 4"), ("[d!accent!f]8|", "0 >F5 4"), ("[!>!df]8|", "0 >F5 4"),
        ("[+accent+df]8|", "0 >F5 4"), ("[Ldf]8|", "0 >F5 4"), ("[!emphasis!d]8|", "0 >D5 4"),
        ("!accent![df]8|", "0 >F5 4"), ("[!trill!df]8|", "0 F5 4"),
        ("[!accent!df]4 [ce]4|", "0 >F5 2, 2 E5 2"),
    ],
)  # fmt: skip
def test_an_accent_inside_stacked_notes_marks_the_target(music: str, read: str) -> None:
    """Whichever of the notes it stands at, in each dress of section 4.14."""
    assert notes(phrase('"C"' + music).line) == read


@pytest.mark.parametrize(
    ("symbol", "chart"),
    [
        ("G(Em)", "G:4"), ("Dm7(F6)", "Dm7:4"), ("C(Em/G)", "C:4"), ("G7(Db7)", "G7:4"),
        ("Cm(maj7)(Eb6)", "Cm(maj7):4"), ("E(Bb)", "E:4"), ("G7(Db7(#11))", "G7:4"),
        ("G ( Em )", "G:4"),
    ],
)  # fmt: skip
def test_an_alternative_chord_is_left_out_with_a_word(symbol: str, chart: str) -> None:
    """Section 4.18: after the regular chord, in parentheses, for print only."""
    read = tune(f'"{symbol}"C8|')
    assert read.phrase is not None, problems(read)
    assert chords(read.phrase.chart) == chart
    assert any("alternative" in each for each in doubts(read))


@pytest.mark.parametrize(
    ("symbol", "chart"),
    [
        ("Cm(maj7)", "Cm(maj7):4"), ("C7(b9)", "C7b9:4"), ("C(add9)", "Cadd9:4"),
        ("C(b5)", "C(b5):4"),
    ],
)  # fmt: skip
def test_what_is_part_of_the_symbol_is_no_alternative(symbol: str, chart: str) -> None:
    """Parentheses of the symbol's own stay part of it."""
    read = tune(f'"{symbol}"C8|')
    assert read.phrase is not None, problems(read)
    assert chords(read.phrase.chart) == chart
    assert doubts(read) == []


def test_a_turnaround_may_have_an_alternative() -> None:
    """The outer parentheses mark the turnaround, the inner ones the alternative."""
    assert chords(phrase('"C"C4 "(G7(Db7))"C4|').chart) == "C:2 (G7):2"


def test_what_is_no_chord_in_parentheses_is_refused() -> None:
    """There is no H on the page of an alternative either."""
    assert problems(tune('"G(Hm)"C8|'))[0].startswith("line 7, column 4: chord symbol 'G(Hm)'")
