"""Several chord symbols over one note, alternatives, and archives with a broken container."""

from __future__ import annotations

import pytest

from drillbox.errors import BadInput
from tests.notation.pages import chords, doubts, problems, tune
from tests.notation.scores import harmony, note, part, read, read_part, score, zip_of

WHOLE, HALF, QUARTER = note("C4", 16), note("C4", 8), note("C4", 4)
C, F, G = harmony("C"), harmony("F"), harmony("G", "dominant")
STAFF = "<staff>2</staff>"


@pytest.mark.parametrize(
    ("bar", "chart"),
    [
        (C + F + WHOLE, "C:2 F:2"),
        (C + F + HALF + G + HALF, "C:1 F:1 G7:2"),
        (C + F + G + note("C4", 12) + QUARTER, "C:1 F:1 G7:2"),
        (G + note("C4", 12) + C + F + QUARTER, "G7:3 C:1/2 F:1/2"),
        (C + F + note("z", 16), "C:2 F:2"),
        (C + F + harmony("C", more=STAFF) + harmony("F", more=STAFF) + WHOLE, "C:2 F:2"),
        (C + F + harmony("G", "dominant", "<offset>8</offset>") + WHOLE, "C:1 F:1 G7:2"),
        (C + harmony("F", more="<offset>0</offset>") + WHOLE, "C:2 F:2"),
        (C + F + note("C4", before="<grace/>") + WHOLE, "C:2 F:2"),
        (C + F + "<forward><duration>16</duration></forward>", "C:2 F:2"),
    ],
)
def test_symbols_over_one_note_share_its_length(bar: str, chart: str) -> None:
    """They follow one another evenly: several harmonies before a note mean a change during it.

    So says the description in a conformance score that music21 carries, 71g of its test suite.
    """
    found = read_part(bar)
    assert found.phrase is not None, problems(found)
    assert chords(found.phrase.chart) == chart
    assert any("share the length of one note" in each for each in doubts(found))


@pytest.mark.parametrize(
    ("music", "chart"),
    [
        ('"C""F"C8|', "C:2 F:2"),
        ('"C" "F" "G7"C6 C2|', "C:1 F:1 G7:2"),
        ('"C"C4 "F""(G7)"z4|', "C:2 F:1 (G7):1"),
        ('"C""F"C8-|C8|', "C:2 F:2 | F:4"),
    ],
)
def test_strings_over_one_abc_note_share_its_length(music: str, chart: str) -> None:
    """ABC files write two chords over a long note in the same way."""
    found = tune(music)
    assert found.phrase is not None, problems(found)
    assert chords(found.phrase.chart) == chart
    assert any("share the length of one note" in each for each in doubts(found))


def test_an_offset_onto_another_symbol_is_refused() -> None:
    """Who says by an offset where a symbol stands didn't mean it to share."""
    bar = C + harmony("F", more="<offset>8</offset>") + HALF + G + HALF
    assert problems(read_part(bar)) == [
        "measure 1 of part Alto: two chord symbols stand at one place; keep one"
    ]


def alternate(root: str) -> str:
    """Return a harmony of MusicXML's type ``alternate``."""
    return harmony(root, "minor").replace("<harmony>", '<harmony type="alternate">')


@pytest.mark.parametrize(
    ("measures", "chart"),
    [
        ([C + alternate("A") + WHOLE], "C:4"),
        ([alternate("A") + C + WHOLE], "C:4"),
        ([C + HALF + alternate("A") + HALF], "C:4"),
        ([C + alternate("A") + alternate("E") + HALF + G + HALF], "C:2 G7:2"),
    ],
)
def test_alternative_harmonies_are_left_out_with_a_word(measures: list[str], chart: str) -> None:
    """MusicXML 4.0, harmony-type: ``alternate`` is another chord that would fit as well."""
    found = read_part(*measures)
    assert found.phrase is not None, problems(found)
    assert chords(found.phrase.chart) == chart
    assert any("alternative" in each for each in doubts(found))


XML = score(part(C + WHOLE)).encode()
BROKEN = [b"<container><rootfiles>", b"", b"score.xml", b"<container><rootfile></container>"]


@pytest.mark.parametrize("container", BROKEN)
def test_a_broken_container_with_one_score_beside_it_is_no_hindrance(container: bytes) -> None:
    """The one score is read, and the player is told."""
    found = read(zip_of({"META-INF/container.xml": container, "page.musicxml": XML}))
    assert found.phrase is not None, problems(found)
    assert doubts(found)[0].startswith("META-INF/container.xml isn't well-formed XML")


@pytest.mark.parametrize("others", [{}, {"one.xml": XML, "two.musicxml": XML}])
def test_a_broken_container_without_exactly_one_score_is_named(others: dict[str, bytes]) -> None:
    """Then the message says in which file of the archive the fault lies."""
    with pytest.raises(BadInput, match=r"META-INF/container\.xml"):
        read(zip_of({"META-INF/container.xml": b"<container>", **others}))


def test_an_archive_without_a_container_is_read_where_it_holds_one_score() -> None:
    """Some programs leave the container out; the player is told which score was read."""
    found = read(zip_of({"page.musicxml": XML, "readme.txt": b"x"}))
    assert found.phrase is not None, problems(found)
    assert doubts(found)[0] == (
        "the archive has no META-INF/container.xml; the one score, 'page.musicxml', is read"
    )
