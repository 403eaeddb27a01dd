"""The demo phrases, read here by a small tokenizer that shares nothing with the product."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import pytest

from drillbox.notation import read_bytes
from drillbox.shipped import shipped

LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
MAJOR_SIGNS = {"C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5,
               "F": -1, "Bb": -2, "Eb": -3, "Ab": -4, "Db": -5, "Gb": -6}  # fmt: skip
MINOR_SIGNS = {"Dm": -1, "Gm": -2, "Cm": -3, "Fm": -4}
# Semitones above the root of every tone, the two guide tones (3rd; 7th or 6th) first.
CHORDS = {
    "maj7": (4, 11, 0, 7),
    "m7": (3, 10, 0, 7),
    "7": (4, 10, 0, 7),
    "7b9": (4, 10, 0, 7, 1),
    "m7b5": (3, 10, 0, 6),
    "m6": (3, 9, 0, 7),
}
TOKEN = re.compile(
    r'"(?P<chord>[^"]+)"|(?P<accent>!accent!)|(?P<triplet>\(3)|(?P<bar>\|)'
    r"|(?P<sign>[\^_=]?)(?P<letter>[A-Ga-gz])(?P<octave>[,']*)(?P<length>\d*)"
)


@dataclass
class Tune:
    fields: dict[str, str]
    bars: list[Fraction]
    notes: list[tuple[Fraction, Fraction, int, bool]]  # onset, length, MIDI number, accented
    chords: list[tuple[Fraction, str]]

    @property
    def length(self) -> Fraction:
        beats, unit = map(int, self.fields["M"].split("/"))
        return sum((b for b in self.bars if b == Fraction(4 * beats, unit)), Fraction(0))


def key_signature(key: str) -> dict[str, int]:
    signs = {**MAJOR_SIGNS, **MINOR_SIGNS}[key]
    altered = "FCGDAEB"[:signs] if signs > 0 else "BEADGCF"[:-signs]
    return dict.fromkeys(altered, 1 if signs > 0 else -1)


def read(block: str) -> Tune:
    lines = [line for line in block.splitlines() if line and not line.startswith("%")]
    fields = {line[0]: line[2:].strip() for line in lines if re.match(r"[A-Z]:", line)}
    music = " ".join(line for line in lines if not re.match(r"[A-Z]:", line))
    tune = Tune(fields, [], [], [])
    signature, unit = key_signature(fields["K"]), Fraction(fields["L"]) * 4
    at, bar, bar_signs, accented, triplet = Fraction(0), Fraction(0), {}, False, 0
    position = 0
    while position < len(music):
        if music[position] == " ":
            position += 1
            continue
        token = TOKEN.match(music, position)
        assert token, f"{fields['T']}: can't read {music[position:]!r}"
        position = token.end()
        if token["chord"]:
            tune.chords.append((at, token["chord"]))
        elif token["accent"]:
            accented = True
        elif token["triplet"]:
            triplet = 3
        elif token["bar"]:
            tune.bars.append(bar)
            bar, bar_signs = Fraction(0), {}
        else:
            length = unit * int(token["length"] or 1)
            if triplet:
                length, triplet = length * Fraction(2, 3), triplet - 1
            if token["letter"] != "z":
                letter = token["letter"].upper()
                if token["sign"]:
                    bar_signs[letter] = {"^": 1, "_": -1, "=": 0}[token["sign"]]
                alter = bar_signs.get(letter, signature.get(letter, 0))
                octave = 12 * (token["octave"].count("'") - token["octave"].count(","))
                octave += 12 if token["letter"].islower() else 0
                tune.notes.append((at, length, 60 + LETTERS[letter] + alter + octave, accented))
                accented = False
            at += length
            bar += length
    beats, beat_unit = map(int, fields["M"].split("/"))
    if tune.bars[0] < Fraction(4 * beats, beat_unit):  # a pickup lies before beat 0
        shift = tune.bars[0]
        tune.notes = [(on - shift, *rest) for on, *rest in tune.notes]
        tune.chords = [(on - shift, chord) for on, chord in tune.chords]
    return tune


def tones(symbol: str) -> tuple[int, ...]:
    match = re.fullmatch(r"\(?([A-G])([b#]?)([^)]*)\)?", symbol)
    assert match, symbol
    root = LETTERS[match[1]] + {"": 0, "b": -1, "#": 1}[match[2]]
    return tuple((root + above) % 12 for above in CHORDS[match[3]])


SOURCE = (shipped("seeds_demo") / "lines.abc").read_text("ascii")
TUNES = [read(block) for block in re.split(r"\n\s*\n", SOURCE) if "X:" in block]
each_tune = pytest.mark.parametrize("tune", TUNES, ids=lambda tune: tune.fields["T"])


def test_says_that_it_is_invented() -> None:
    """Every file opens with the ABC version and a comment that says its lines are invented."""
    for path in shipped("seeds_demo").glob("*.abc"):
        head = path.read_text("ascii").splitlines()[:4]
        assert head[0] == "%abc-2.1"
        assert all(line.startswith("%") for line in head)
        assert "invented for drillbox" in " ".join(head)
    assert {tune.fields["C"] for tune in TUNES} == {"drillbox (invented)"}


def test_covers_the_common_progressions() -> None:
    """At least ten phrases, at least ten kinds, each in a written key of its own."""
    assert len(TUNES) >= 10
    assert len({tune.fields["N"] for tune in TUNES}) >= 10
    assert len({tune.fields["K"] for tune in TUNES}) == len(TUNES)
    assert len({tune.fields["T"] for tune in TUNES}) == len(TUNES)
    assert [t.fields["N"] for t in TUNES if t.fields.get("R") == "double time"] == [
        "double time ii-V-I"
    ]
    assert {tune.fields["M"] for tune in TUNES} == {"4/4", "3/4"}


@each_tune
def test_bars_add_up(tune: Tune) -> None:
    """Every bar is full; only a first bar may be shorter, as a pickup."""
    beats, unit = map(int, tune.fields["M"].split("/"))
    full = Fraction(4 * beats, unit)
    assert tune.bars[0] <= full
    assert set(tune.bars[1:]) == {full}


@each_tune
def test_guide_tone_at_each_chord(tune: Tune) -> None:
    """Within an eighth note of its arrival each chord meets its third, seventh or sixth.

    The phrase goes round, so that a pickup also sounds over the turnaround chord.
    """
    half = Fraction(1, 2)
    for (arrival, symbol), (_, before) in zip(tune.chords, [(0, ""), *tune.chords], strict=False):
        if symbol == before:
            continue  # written again at a bar line, but no new chord
        guides = tones(symbol)[:2]
        near = [
            pitch
            for onset, _, pitch, _ in tune.notes
            for turn in (0, tune.length)
            if abs(onset + turn - arrival) <= half
        ]
        assert any(pitch % 12 in guides for pitch in near), f"{symbol} at {arrival}"


@each_tune
def test_line_goes_round(tune: Tune) -> None:
    """The last note leads into the first by a step, and the last chord is the turnaround."""
    first, last = tune.notes[0][2], tune.notes[-1][2]
    assert 1 <= abs(first - last) <= 2
    symbols = [symbol for _, symbol in tune.chords]
    assert symbols[-1].startswith("(")
    assert not any(symbol.startswith("(") for symbol in symbols[:-1])


@each_tune
def test_playable(tune: Tune) -> None:
    """It lies between E3 and B flat 5 within two octaves, leaps no octave, and isn't too fast."""
    pitches = [pitch for _, _, pitch, _ in tune.notes]
    assert min(pitches) >= 52
    assert max(pitches) <= 82
    assert max(pitches) - min(pitches) <= 24
    leaps = [abs(a - b) for a, b in pairwise(pitches)]
    assert 0 < min(leaps) <= max(leaps) < 12
    shortest = min(length for _, length, _, _ in tune.notes)
    tempo = int(tune.fields["Q"].removeprefix("1/4="))
    assert tempo / 60 / shortest <= 10


@each_tune
def test_strong_beats_belong_to_the_chord(tune: Tune) -> None:
    """Two of three notes on a felt beat are chord tones at least: the line spells its changes."""
    beat = Fraction(1, 2) if tune.fields.get("R") == "double time" else Fraction(1)
    on_beat = [(onset, pitch) for onset, _, pitch, _ in tune.notes if onset >= 0 == onset % beat]
    inside = 0
    for onset, pitch in on_beat:
        symbol = [name for start, name in tune.chords if start <= onset][-1]
        inside += pitch % 12 in tones(symbol)
    assert inside / len(on_beat) >= 2 / 3


@each_tune
def test_targets_are_guide_tones(tune: Tune) -> None:
    """Accents mark notes that the line aims at: each is a guide tone, at most three a bar."""
    marked = [(onset, pitch) for onset, _, pitch, accented in tune.notes if accented]
    assert 1 <= len(marked) <= 3 * len(tune.bars)
    for onset, pitch in marked:
        symbol = [name for start, name in tune.chords if start <= onset][-1]
        assert pitch % 12 in tones(symbol)[:2], f"{symbol} at {onset}"


def test_no_two_alike() -> None:
    """No two lines share the same seven steps (eight notes) in a row, wherever they lie."""
    seen: dict[tuple[int, ...], str] = {}
    for tune in TUNES:
        pitches = [pitch for _, _, pitch, _ in tune.notes]
        steps = [b - a for a, b in pairwise(pitches)]
        for start in range(len(steps) - 6):
            run = tuple(steps[start : start + 7])
            other = seen.setdefault(run, tune.fields["T"])
            assert other == tune.fields["T"], f"{other} and {tune.fields['T']} share {run}"


def test_product_reads_the_same() -> None:
    """The product reads every phrase without a problem or a doubt, and the same notes as here."""
    data = SOURCE.encode("ascii")
    read_tunes = read_bytes(data, "lines.abc").tunes
    assert [each.title for each in read_tunes] == [tune.fields["T"] for tune in TUNES]
    for each, tune in zip(read_tunes, TUNES, strict=True):
        assert (each.problems, each.doubts) == ((), ())
        assert each.phrase is not None
        assert each.phrase.key.text() == tune.fields["K"]
        assert each.phrase.chart.length == tune.length
        assert each.phrase.double_time == (tune.fields.get("R") == "double time")
        notes = [(n.onset, n.length, n.pitch.midi, n.target) for n in each.phrase.line]
        assert notes == tune.notes
