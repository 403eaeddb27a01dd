"""Typed charts: what is read, what is refused and where, and printing back."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.errors import BadInput, ExitCode
from drillbox.music.charts import Bar, Chart, Meter, Span
from drillbox.music.chords import Chord, Degree
from drillbox.music.pitch import Name, parse_name
from drillbox.music.symbols.typed import MOST_BARS, ChartError, chart_text, parse_chart, parse_meter
from tests.music.shorthand import chart, sounding, symbols
from tests.rows import every_row

FOUR, THREE, SIX_EIGHT = Meter(4, 4), Meter(3, 4), Meter(6, 8)


def problems(text: str, meter: Meter = FOUR) -> tuple[tuple[int, int, str], ...]:
    with pytest.raises(ChartError) as caught:
        parse_chart(text, meter)
    return caught.value.problems


def test_a_phrase_as_a_player_types_it() -> None:
    """Two symbols share a bar of four beats; parentheses mark the turnaround."""
    half = Fraction(2)
    assert parse_chart("Cm7 F7 | Bbmaj7 (G7)", FOUR) == Chart(
        FOUR,
        (
            Bar((
                Span(Fraction(0), half, Chord(Name("C"), "minor-seventh")),
                Span(half, half, Chord(Name("F"), "dominant")),
            )),
            Bar((
                Span(Fraction(0), half, Chord(Name("B", -1), "major-seventh")),
                Span(half, half, Chord(Name("G"), "dominant"), turnaround=True),
            )),
        ),
    )  # fmt: skip


@every_row(
    ("text", "meter", "shown", "lengths"),
    [
        ("Cm7 / / F7", FOUR, "Cm7 F7", [3, 1]),
        ("Cm7 / F7 /", FOUR, "Cm7 F7", [2, 2]),
        ("Cm7 / F7", THREE, "Cm7 F7", [2, 1]),
        ("C / / F / /", SIX_EIGHT, "C F", [1.5, 1.5]),
        ("C F", SIX_EIGHT, "C F", [1.5, 1.5]),
        ("C F G", SIX_EIGHT, "C F G", [1, 1, 1]),
        ("Cm7 | / F7", FOUR, "Cm7 | Cm7 F7", [4, 2, 2]),
        ("Cm7 | /", FOUR, "Cm7 | Cm7", [4, 4]),
        ("Cm7 F7 | % | %", FOUR, "Cm7 F7 | Cm7 F7 | Cm7 F7", [2] * 6),
        ("| Cm7 | F7 |", FOUR, "Cm7 | F7", [4, 4]),
        ("|| Cm7 || F7 |]", FOUR, "Cm7 | F7", [4, 4]),
        ("Cm7 |\nF7", FOUR, "Cm7 | F7", [4, 4]),
        ("| Cm7 |\n| F7 |\n", FOUR, "Cm7 | F7", [4, 4]),
        ("Cm7\nF7", FOUR, "Cm7 F7", [2, 2]),
        ("Cm7|F7", FOUR, "Cm7 | F7", [4, 4]),
        ("N.C. | NC F7", FOUR, "NC | NC F7", [4, 2, 2]),
        ("Cm7(b5) F7", FOUR, "Cm7b5 F7", [2, 2]),
        ("C/E F/A", FOUR, "C/E F/A", [2, 2]),
        ("C/// | F / G7 /", FOUR, "C | F G7", [4, 2, 2]),
        ("C / (Dm7 G7)", FOUR, "C Dm7* G7*", [2, 1, 1]),
        ("C /(G7) /", FOUR, "C G7*", [2, 2]),
        ("C | (Dm7 | G7)", FOUR, "C | Dm7* | G7*", [4, 4, 4]),
        ("C | (G7) | %", FOUR, "C | G7* | G7*", [4, 4, 4]),
        ("C | (G7) | /", FOUR, "C | G7* | G7*", [4, 4, 4]),
        ("C (/)", FOUR, "C C*", [2, 2]),
        ("C C", FOUR, "C C", [2, 2]),
    ],
)
def test_the_grammar(text: str, meter: Meter, shown: str, lengths: list[float]) -> None:
    """Shares, slashes, repeats, bar lines at the ends, breaks of line, N.C. and parentheses."""
    read = parse_chart(text, meter)
    assert symbols(read) == shown
    assert [float(span.length) for _, span in read.spans()] == lengths
    assert read.meter == meter


def test_parentheses_that_follow_a_symbol_belong_to_it() -> None:
    """Also with spaces and commas inside, and inside a turnaround."""
    read = parse_chart("C7(b9, #11) Fmaj7 | / / / (G7(b9))", FOUR)
    first, _, _, last = (span.chord for _, span in read.spans())
    assert first
    assert last
    assert {(d.number, d.alter) for d in first.degrees} == {(9, -1), (11, 1)}
    assert [(d.number, d.alter) for d in last.degrees] == [(9, -1)]
    assert read.bars[1].spans[-1].turnaround


@every_row(
    ("text", "meter", "expected"),
    [
        ("C F G", FOUR, (1, 1, "3 symbols and slashes can't share the 4 beats of a bar equally; "
                               "write 1, 2 or 4 of them, such as C / F G")),
        ("C | F G A B C", FOUR, (1, 5, "5 symbols and slashes can't share the 4 beats of a bar "
                                       "equally; write 1, 2 or 4 of them, such as F G A B")),
        ("C F", THREE, (1, 1, "2 symbols and slashes can't share the 3 beats of a bar equally; "
                              "write 1 or 3 of them, such as C / F")),
        ("Dm7 G7", Meter(1, 4), (1, 1, "2 symbols and slashes can't share the 1 beat of a bar "
                                       "equally; write 1 of them, such as Dm7")),
        ("C |\n  F (G7 A7)", FOUR, (2, 3, "3 symbols and slashes can't share the 4 beats of a bar "
                                          "equally; write 1, 2 or 4 of them, such as "
                                          "F / (G7 A7)")),
        ("/ C", FOUR, (1, 1, "/ holds a chord, and there is none before it")),
        ("% | C", FOUR, (1, 1, "there is no bar before this one to repeat")),
        ("C | % F", FOUR, (1, 5, "% repeats a whole bar and stands alone in it")),
        ("C | (%)", FOUR, (1, 6, "% repeats a whole bar and stands alone in it")),
        ("C | | F", FOUR, (1, 5, "the bar before this bar line is empty; write % to repeat a bar "
                                 "or N.C. for no chord")),
        ("C (G7", FOUR, (1, 3, "this parenthesis isn't closed")),
        ("C G7) | F", FOUR, (1, 5, "this parenthesis closes nothing")),
        ("C ()", FOUR, (1, 4, "the parentheses are empty; write the turnaround in them")),
        ("(G7) C", FOUR, (1, 1, "the turnaround in parentheses must be the last of the chart")),
        ("C (G7) | F", FOUR, (1, 3, "the turnaround in parentheses must be the last of the chart")),
        ("(C)", FOUR, (1, 1, "the whole chart is in parentheses; only its turnaround should be")),
        ("C (N.C.)", FOUR, (1, 3, "a turnaround is a chord, not N.C.")),
        ("Dm7 G7", Meter(5, 4), (1, 1, "2 symbols and slashes can't share the 5 beats of a bar "
                                       "equally; write 1 or 5 of them, such as Dm7 / / G7 /")),
        ("Dm7 G7", Meter(7, 8), (1, 1, "2 symbols and slashes can't share the 7 beats of a bar "
                                       "equally; write 1 or 7 of them, such as "
                                       "Dm7 / / / G7 / /")),
        ("Dm7 | Cmaj7(A7)", FOUR, (1, 13, "put a space before the turnaround: Cmaj7 (A7)")),
        ("C7 (b9)", FOUR, (1, 5, "alterations stand close to their symbol, as in C7(b9)")),
        ("", FOUR, (1, 1, "there are no chords; write them such as Dm7 G7 | Cmaj7")),
        (" | \n | ", FOUR, (1, 1, "there are no chords; write them such as Dm7 G7 | Cmaj7")),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_with_its_place(
    text: str, meter: Meter, expected: tuple[int, int, str]
) -> None:
    """One problem, its line and column counted from 1, and how to write it."""
    assert problems(text, meter) == (expected,)


def test_the_example_in_a_refusal_can_be_typed() -> None:
    """What a refusal offers is read in that meter, whatever was typed."""
    for meter in (FOUR, THREE, SIX_EIGHT, Meter(5, 4), Meter(7, 8)):
        for count in range(1, 10):
            text = " ".join(["C", "Dm7", "G7", "A7", "F", "Em7", "Am7", "D7", "G"][:count])
            if meter.beats % count:
                offered = problems(text, meter)[0][2].rpartition("such as ")[2]
                assert len(parse_chart(offered, meter).bars) == 1


def test_unknown_symbols_have_their_own_column() -> None:
    """The symbol's reader counts on from where the symbol stands in its line.

    How symbols share a bar is said once all of them are read: no example holds one that isn't.
    """
    (problem,) = problems("Dm7 G7 |\nCmaj7 Hm7")
    assert problem[:2] == (2, 7)
    assert "Hm7" in problem[2]
    (problem,) = problems("Dm7 G7zz")
    assert problem[:2] == (1, 7)
    (problem,) = problems("Dm7 G7, Cmaj7")
    assert problem[:2] == (1, 8)


def test_all_problems_are_told_together_in_order() -> None:
    """A player mends the whole chart at once; the message is one line about the first."""
    found = problems("C F G | Qx\n| (D7")
    assert [each[:2] for each in found] == [(1, 1), (1, 9), (2, 3)]
    error = ChartError(reversed(found))
    assert error.problems == found
    assert error.exit_code == ExitCode.BAD_INPUT
    assert error.line().startswith("Line 1, column 1: 3 symbols")
    assert error.line().endswith("And 2 more problems after it.")
    assert ChartError(found[:2]).line().endswith("And 1 more problem after it.")
    assert ChartError(found[2:]).line() == "Line 2, column 3: this parenthesis isn't closed"


@pytest.mark.parametrize(
    ("text", "column"),
    [("|: Dm7 G7 | Cmaj7 :|", 1), ("|:Dm7 G7|Cmaj7:|", 1), ("Dm7 G7 | Cmaj7:|", 15),
     ("||: C | F :||: G | C :||", 1), ("C | F :: G | C", 7), ("C | F :|: G | C", 7),
     ("[|: C :|]", 1)],
)  # fmt: skip
def test_repeat_signs_are_refused_in_words(text: str, column: int) -> None:
    """Whatever their shape, once in a chart: bars are written out, or repeated by %."""
    assert problems(text) == (
        (1, column, "repeat signs aren't read; write the bars out, and % for a bar like the one "
                    "before it"),
    )  # fmt: skip


def test_a_chart_of_absurd_length_is_refused() -> None:
    """By bars and by characters; a stuck key or a pasted book ends at once."""
    assert len(parse_chart("C|" * MOST_BARS, FOUR).bars) == MOST_BARS
    assert problems("C|" * (MOST_BARS + 1)) == (
        (1, 2 * MOST_BARS + 1, f"a chart has at most {MOST_BARS} bars"),
    )
    assert problems("C " * 10_001) == ((1, 1, "the chart is longer than 20000 characters"),)


@pytest.mark.parametrize(
    ("text", "beats", "unit"),
    [("4/4", 4, 4), ("3/4", 3, 4), (" 6/8 ", 6, 8), ("12/8", 12, 8), ("2/2", 2, 2), ("C", 4, 4),
     ("C|", 2, 2), ("5 / 4", 5, 4), ("32/32", 32, 32)],
)  # fmt: skip
def test_meters_are_read(text: str, beats: int, unit: int) -> None:
    """Also common and cut time by their letters."""
    assert parse_meter(text) == Meter(beats, unit)


@pytest.mark.parametrize("text", ["", "4", "0/4", "4/0", "4/3", "33/4", "-4/4", "4/4/4", "four"])
def test_what_is_no_meter_is_refused(text: str) -> None:
    """With examples of what is one."""
    with pytest.raises(BadInput) as caught:
        parse_meter(text)
    assert caught.value.line() == f"{text!r} isn't a meter. Write it as 4/4, 3/4 or 6/8."


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("|Cm7 F7|Bbmaj7 (G7)|", "Cm7 F7 | Bbmaj7 (G7)"),
        ("Cm7 / / / | % | Bb / / (G7)", "Cm7 | Cm7 | Bb / / (G7)"),
        ("Bb / (Dm7) (G7)", "Bb / (Dm7 G7)"),
        ("C | (Dm7 / | G7 /)", "C | (Dm7) | (G7)"),
        ("N.C. C-7(b5)", "N.C. Cm7b5"),
    ],
)
def test_the_printed_form_is_canonical(typed: str, printed: str) -> None:
    """The fewest parts in each bar, single spaces, one spelling of each symbol."""
    assert chart_text(parse_chart(typed, FOUR)) == printed
    assert chart_text(parse_chart(printed, FOUR)) == printed


def test_printing_in_unicode() -> None:
    """The same chart with signs instead of letters, which is read back too."""
    read = parse_chart("Cm7b5 F7 | Bb (G7)", FOUR)
    text = chart_text(read, ascii=False)
    assert text == "Cø7 F7 | B♭ (G7)"
    assert parse_chart(text, FOUR) == read


def test_chords_off_the_beat_print_in_finer_parts() -> None:
    """A push by an eighth makes eight parts; such a chart is read back only when told to."""
    push = Chart(
        FOUR,
        (
            Bar((
                Span(Fraction(0), Fraction(7, 2), sounding("C")),
                Span(Fraction(7, 2), Fraction(1, 2), sounding("F7")),
            )),
        ),
    )  # fmt: skip
    assert chart_text(push) == "C / / / / / / F7"
    assert parse_chart("C / / / / / / F7", FOUR, finer=True) == push
    assert problems("C / / / / / / F7")[0][2].startswith("8 symbols and slashes")
    assert chart_text(chart("C F G")) == "C F G"
    assert parse_chart("C F G", FOUR, finer=True) == chart("C F G")


roots = st.sampled_from([parse_name(each) for each in ("C", "Bb", "F#", "Eb", "Gb", "A")])
chords = st.one_of(
    st.none(),
    st.builds(Chord, roots, st.sampled_from(["major", "minor-seventh", "half-diminished"])),
    st.builds(Chord, roots, st.just("dominant"), st.just((Degree("add", 9, -1),))),
    st.builds(Chord, roots, st.just("major"), st.just(()), roots).filter(
        lambda each: each.root != each.bass
    ),
)


@st.composite
def charts(draw: st.DrawFn, *, finer: bool) -> Chart:
    """Charts of one to four bars whose chords change on shares of the bar."""
    meter = draw(st.sampled_from([FOUR, THREE, SIX_EIGHT, Meter(2, 2), Meter(5, 4)]))
    shares = [n for n in range(1, meter.beats + 1) if meter.beats % n == 0]
    bars: list[list[tuple[Fraction, Fraction, Chord | None]]] = []
    for _ in range(draw(st.integers(1, 4))):
        n = draw(st.integers(1, 9) if finer else st.sampled_from(shares))
        cuts = sorted({0, n, *draw(st.lists(st.integers(0, n), max_size=4))})
        share = meter.bar / n
        bars.append([(cut * share, (end - cut) * share, draw(chords))
                     for cut, end in pairwise(cuts)])  # fmt: skip
    total = sum(map(len, bars))
    plain = [chord for bar in bars for _, _, chord in bar]
    marked = draw(st.integers(0, total - 1))
    while marked and None in plain[total - marked :]:
        marked -= 1
    places = iter(range(total))
    return Chart(
        meter,
        tuple(Bar(tuple(Span(*each, next(places) >= total - marked) for each in bar))
              for bar in bars),
    )  # fmt: skip


@settings(max_examples=60)
@given(read=charts(finer=False), ascii=st.booleans())
def test_print_and_read_is_the_identity(read: Chart, ascii: bool) -> None:
    """A law: every chart whose chords change on shares of the beats comes back equal."""
    assert parse_chart(chart_text(read, ascii=ascii), read.meter) == read


@settings(max_examples=100)
@given(read=charts(finer=True))
def test_finer_charts_come_back_too(read: Chart) -> None:
    """A law: whatever the shares, the printed form is read back when told to."""
    assert parse_chart(chart_text(read), read.meter, finer=True) == read


@settings(max_examples=120)
@given(
    text=st.text(alphabet="CGm7b#59/%|()[]NC. \n,-+", max_size=40) | st.text(max_size=20),
    meter=st.sampled_from([FOUR, THREE, SIX_EIGHT]),
)
def test_any_text_is_read_or_refused(text: str, meter: Meter) -> None:
    """Never another failure; what is read has full bars, what isn't a place inside the text."""
    try:
        read = parse_chart(text, meter)
    except ChartError as error:
        lines = text.splitlines() or [""]
        for line, column, words in error.problems:
            assert 1 <= line <= len(lines)
            assert 1 <= column <= len(lines[line - 1]) + 1
            assert words
        return
    for bar in read.bars:
        assert sum(span.length for span in bar.spans) == meter.bar
    assert parse_chart(chart_text(read), meter) == read
