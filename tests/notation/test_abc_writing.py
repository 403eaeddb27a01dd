"""ABC export: what is written reads back to the equal phrase."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.errors import BadInput
from drillbox.music.charts import Bar, Chart, Meter, Span, turnaround_at_end
from drillbox.music.chords import Chord
from drillbox.music.keys import Key, is_signed
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import Name, Pitch
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.notation import read_bytes, write_abc

METERS = [Meter(4, 4), Meter(3, 4), Meter(6, 8), Meter(2, 2), Meter(5, 4), Meter(7, 8)]
SYMBOLS = [
    "Cm7", "F7", "Bbmaj7", "G7b9", "Ebm7b5", "A7alt", "N.C.", "C/E", "Gm(maj7)", "D7#9b13",
    "Ab69", "C#dim7", "E7sus4", "F#m7", "Cadd9", "C5",
]  # fmt: skip
PIECES = [Fraction(n, d) for d in (1, 2, 3, 4, 5, 6, 7, 8, 12) for n in (1, 2, 3) if n <= 2 * d]

names = st.builds(Name, st.sampled_from("ABCDEFG"), st.integers(-2, 2))
pitches = st.builds(Pitch, names, st.integers(2, 7))
tonics = st.builds(Name, st.sampled_from("ABCDEFG"), st.integers(-1, 1))
keys = st.builds(Key, tonics, st.sampled_from(["major", "minor"])).filter(is_signed)
titles = (
    st.text(st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp")), min_size=1, max_size=30)
    .map(lambda text: " ".join(text.split()))
    .filter(bool)
)


@st.composite
def bars(draw: st.DrawFn, length: Fraction) -> Bar:
    """A bar of one to four spans at exact places."""
    places = st.integers(1, 23).map(lambda n: length * n / 24)
    cuts = sorted(draw(st.sets(places, max_size=3)))
    starts, ends = [Fraction(0), *cuts], [*cuts, length]
    chord = st.sampled_from(SYMBOLS).map(parse_symbol)
    return Bar(tuple(Span(a, b - a, draw(chord)) for a, b in zip(starts, ends, strict=True)))


def ending_in_turnaround(chart: Chart, most: int) -> Chart:
    """Mark the last chords as the turnaround, as many as there may be: chords, after others."""
    spans = [span for _, span in chart.spans()]
    marked = [replace(span, turnaround=at >= len(spans) - most) for at, span in enumerate(spans)]
    if turnaround_at_end(marked) != min(most, len(spans)):
        return chart
    coming = iter(marked)
    bars = (Bar(tuple(next(coming) for _ in bar.spans)) for bar in chart.bars)
    return replace(chart, bars=tuple(bars))


@st.composite
def phrases(draw: st.DrawFn) -> Phrase:
    """A phrase with a line of notes, gaps, grace notes and perhaps a pickup."""
    meter = draw(st.sampled_from(METERS))
    plain = Chart(meter, tuple(draw(bars(meter.bar)) for _ in range(draw(st.integers(1, 4)))))
    chart = ending_in_turnaround(plain, draw(st.integers(0, 3)))
    onset = draw(st.sampled_from([Fraction(0), Fraction(-1, 2), Fraction(-1, 3), Fraction(-1)]))
    line: list[LineNote] = []
    for _ in range(draw(st.integers(0, 14))):
        length = draw(st.sampled_from(PIECES))
        if onset + length > chart.length:
            break
        if draw(st.integers(0, 9)) == 0:
            line.append(LineNote(onset, Fraction(0), draw(pitches)))
        line.append(LineNote(onset, length, draw(pitches), draw(st.booleans())))
        onset += length + draw(st.sampled_from([Fraction(0), Fraction(0), *PIECES]))
    title, key = draw(titles), draw(keys)
    return Phrase(title, key, draw(st.integers(20, 400)), chart, tuple(line), draw(st.booleans()))


@settings(max_examples=60)
@given(phrases())
def test_writing_and_reading_is_the_identity(phrase: Phrase) -> None:
    """Law: whatever phrase is written as ABC is read back equal, without problem or doubt."""
    (tune,) = read_bytes(write_abc(phrase).encode(), "x.abc").tunes
    assert tune.problems == ()
    assert tune.phrase == phrase
    assert tune.title == phrase.title


def test_a_phrase_is_written_so() -> None:
    """The written form of a small phrase, worked by hand: pickup, tie, tuplet, turnaround."""
    f7, g7, note = Chord(Name("F"), "dominant"), Chord(Name("G"), "dominant"), Fraction(1, 2)
    chart = Chart(
        Meter(4, 4),
        (
            Bar((Span(Fraction(0), Fraction(2), f7), Span(Fraction(2), Fraction(2), None))),
            Bar((Span(Fraction(0), Fraction(4), g7, turnaround=True),)),
        ),
    )
    third = Fraction(1, 3)
    line = (
        LineNote(-note, note, Pitch(Name("F", 1), 4)),
        LineNote(Fraction(0), third, Pitch(Name("F"), 5), target=True),
        LineNote(third, third, Pitch(Name("E", -1), 5)),
        LineNote(2 * third, third, Pitch(Name("B"), 3)),
        LineNote(Fraction(1), Fraction(0), Pitch(Name("C"), 5)),
        LineNote(Fraction(1), Fraction(4), Pitch(Name("B", -1), 4)),
    )
    phrase = Phrase("Small", Key(Name("B", -1)), 120, chart, line, double_time=True)
    assert write_abc(phrase) == (
        "X:1\nT:Small\nR:double time\nM:4/4\nL:1/8\nQ:1/4=120\nK:Bb transpose=0\n"
        '^F | "F7"(3:2:3!accent!fe=B, {c}_B2- "N.C."B4- | "(G7)"B2 z6 |]\n'
    )


@pytest.mark.parametrize(
    ("notes", "what"),
    [
        ([(0, 2), (1, 1)], "two notes sound at once"),
        ([(3, 2)], "beyond its chart"),
        ([(-4, 1)], "its pickup by a bar"),
    ],
)
def test_a_line_that_has_no_place_in_its_chart_is_refused(
    notes: list[tuple[int, int]], what: str
) -> None:
    """Overlapping notes, a note past the end and a pickup of a whole bar are refused."""
    chart = Chart(Meter(4, 4), (Bar((Span(Fraction(0), Fraction(4), None),)),))
    middle = Pitch(Name("C"), 4)
    line = tuple(LineNote(Fraction(onset), Fraction(length), middle) for onset, length in notes)
    with pytest.raises(BadInput, match=what):
        write_abc(Phrase("Wrong", Key(Name("C")), 120, chart, line))


def by_music21(text: str) -> list[tuple[str, Fraction]]:
    """Return pitch and length of each note as music21 reads ABC, ties joined."""
    from music21 import converter

    part = converter.parseData("%abc-2.1\n" + text, format="abc").parts[0]
    return [
        (note.pitch.nameWithOctave.replace("-", "b"), Fraction(note.quarterLength))
        for note in part.flatten().stripTies().notes
        if "Harmony" not in note.classes and not note.duration.isGrace
    ]


def test_music21_reads_what_is_written() -> None:
    """A second reader gets the same notes: accidentals either way, tuplets, ties, pickup."""
    music = (
        'X:1\nT:Twin\nM:4/4\nL:1/8\nQ:1/4=120\nK:Eb\n^F2|"Cm7"E2 (3=EGB _ggf^f|'
        '"F7"a/b/c\'- c\'2 (5:4:5c\'__b=afe|"Bb13"=Bb =AA, (7:4:7c,cdefga|"(G7b9)"^F4 z2|'
    )
    (tune,) = read_bytes(music.encode(), "x.abc").tunes
    assert tune.phrase is not None, tune.problems
    assert by_music21(write_abc(tune.phrase)) == [
        (note.pitch.text(), note.length) for note in tune.phrase.line
    ]


def test_every_demo_phrase_is_read_alike_by_music21() -> None:
    """The shipped lines, written again, are the same notes to a second reader."""
    file = Path(__file__).parents[2] / "seeds_demo" / "lines.abc"
    tunes = read_bytes(file.read_bytes(), file.name).tunes
    assert len(tunes) >= 8
    for tune in tunes:
        assert tune.phrase is not None
        assert by_music21(write_abc(tune.phrase)) == [
            (note.pitch.text(), note.length) for note in tune.phrase.line if note.length
        ]
