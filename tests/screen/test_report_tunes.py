"""The report's pages for tunes: valid, with every chord, place and phrase in words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drillbox.music.keys import USUAL
from drillbox.practice.fits import Repertoire, fits_in
from drillbox.practice.summing import Report, Summary
from drillbox.screen.report import report_page
from tests.screen.test_fit_places import PLAIN, own, store, tunes  # noqa: F401 - two are fixtures
from tests.screen.test_report import NAMESPACE, text_of, tree


@pytest.fixture
def page(past_summary: Summary, own: Repertoire) -> str:  # noqa: F811
    """Return a report with two tunes, the first of which has a title that is markup."""
    found = [fits_in(each, own, PLAIN) for each in tunes()]
    return report_page(Report(past_summary, (), tuple(found)), USUAL)


def test_the_page_is_valid_html(page: str) -> None:
    """html5lib finds no error, no heading level is skipped, no id is twice."""
    root = tree(page)
    ids = [each.get("id") for each in root.iter() if each.get("id")]
    assert len(ids) == len(set(ids))
    headings = [text_of(each) for each in root.iter(f"{NAMESPACE}h2")]
    assert headings[-2:] == ["Tram to the lake", "Salt and slate"]


def test_every_bar_stands_in_the_chart(page: str) -> None:
    """Sixteen bars in lines of four under their sections, each line with its bar's number."""
    chart = next(t for t in tree(page).iter(f"{NAMESPACE}table") if t.get("class") == "changes")
    lines = [
        [" ".join(text_of(cell).split()) for cell in row] for row in chart.iter(f"{NAMESPACE}tr")
    ]
    assert [line[0] for line in lines] == ["A", "1", "A", "5", "B (bridge)", "9", "A", "13"]
    assert lines[1] == ["1", "E♭maj7", "C7", "Fm7fits 1 2B♭7", "E♭maj7"]


def test_what_fits_is_said_with_how_ready_it_is(page: str) -> None:
    """A row for each place: phrase, key, bars, how, tempo, chance; and what nothing fits."""
    words = " ".join(text_of(tree(page)).split())
    assert "1shortE♭3, 7exact132maybe52%, few goes" in words
    assert "Nothing fits: bars 1 to 2, bars 5 to 6, bars 12 to 14." in words


def test_a_long_sentence_stays_one_paragraph(past_summary: Summary, own: Repertoire) -> None:  # noqa: F811
    """The browser breaks its lines: what is to be drilled isn't cut within a key's name."""
    found = fits_in(tunes()[0], own, PLAIN)
    rows = tuple(
        replace(row, title=f"A line of many words that nobody would cut, {row.title}")
        for row in found.rows
    )
    root = tree(report_page(Report(past_summary, (), (replace(found, rows=rows),)), USUAL))
    tune = next(t for t in root.iter(f"{NAMESPACE}section") if t.get("class") == "tune")
    said = [text_of(each) for each in tune.iter(f"{NAMESPACE}p") if not each.get("class")]
    assert max(map(len, said)) > 200
    assert all(each.endswith(".") for each in said)
