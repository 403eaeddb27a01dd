"""The report's page: valid, self-contained, readable by eye, keyboard and screen reader."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from html import escape
from itertools import pairwise, product

import html5lib
import pytest

from drillbox.music.keys import MAJOR, USUAL, parse_key
from drillbox.practice.progress import Week
from drillbox.practice.summing import Advice, Report, Summary
from drillbox.screen.advising import LENIENT
from drillbox.screen.report import report_page
from drillbox.screen.report_style import DARK, LIGHT, stylesheet
from tests.screen.summing_up import cell, made, standing

NAMESPACE = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"
GROUNDS = ("ground", "sheet")
TEXT = tuple(name for name in LIGHT if name not in GROUNDS)


@pytest.fixture(scope="session")
def page(past_summary: Summary, past_weeks: tuple[Week, ...]) -> str:
    return report_page(Report(past_summary, past_weeks), USUAL)


def of(summary: Summary, weeks: tuple[Week, ...] = ()) -> str:
    return report_page(Report(summary, weeks), USUAL)


def tree(page: str) -> ET.Element:
    """Parse a page by the HTML standard's own algorithm; any parse error raises."""
    parsed: ET.Element = html5lib.HTMLParser(strict=True).parse(page)
    return parsed


def text_of(element: ET.Element) -> str:
    return "".join(element.itertext())


def test_the_page_is_valid_html(page: str) -> None:
    """html5lib, a parser written to the WHATWG standard, finds no error in it; it has a language,
    a title, one first heading, and headings that skip no level."""
    root = tree(page)
    assert root.get("lang") == "en"
    levels = [int(each.tag[-1]) for each in root.iter() if re.search(r"}h[1-6]$", str(each.tag))]
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert page.startswith("<!DOCTYPE html>")
    assert root.find(f"{NAMESPACE}head/{NAMESPACE}title") is not None


def test_nothing_is_loaded_from_elsewhere(page: str) -> None:
    """No scripts, no fonts, no images, no links: every reference points into the page."""
    root = tree(page)
    tags = {str(each.tag).rpartition("}")[2] for each in root.iter()}
    assert not tags & {"script", "link", "img", "iframe", "object", "embed", "image", "use"}
    for each in root.iter():
        for name in ("src", "href", "srcset", "data", "action"):
            assert each.get(name) is None
        assert not [name for name in each.attrib if str(name).startswith("on")]
    assert set(re.findall(r"url\(([^)]*)\)", page)) <= {"#circle-major-h", "#circle-minor-h"}
    assert "@import" not in page
    assert "http" not in page


def test_drawings_have_words(page: str) -> None:
    """Every drawing is hidden from a screen reader, with numbers beside it, or has title and
    description; the circle's names all keys."""
    root = tree(page)
    ids = [each.get("id") for each in root.iter() if each.get("id")]
    assert len(ids) == len(set(ids))
    drawings = list(root.iter(f"{SVG}svg"))
    assert drawings
    for each in drawings:
        if each.get("aria-hidden") == "true":
            continue
        assert each.get("role") == "img"
        assert all(ref in ids for ref in str(each.get("aria-labelledby")).split())
        assert each.find(f"{SVG}title") is not None
    words = next(
        text_of(each) for each in root.iter(f"{SVG}desc") if each.get("id") == "circle-major-d"
    )
    for key in MAJOR:
        assert f"{key.text(ascii=False)} " in words
    assert "recalled, weak" in words


def test_tables_have_headers(page: str) -> None:
    """Each header cell says what it heads, each table has a caption, each row its own header,
    and a table that may scroll can be reached by keyboard."""
    root = tree(page)
    tables = list(root.iter(f"{NAMESPACE}table"))
    assert len(tables) == 4  # keys, phrases, and a grid for each mode
    for each in tables:
        assert each.find(f"{NAMESPACE}caption") is not None
        heads = list(each.iter(f"{NAMESPACE}th"))
        assert {head.get("scope") for head in heads} == {"col", "row"}
        rows = list(each.iter(f"{NAMESPACE}tr"))
        widths = {len(list(row)) for row in rows}
        assert len(widths) == 1
    regions = [each for each in root.iter() if each.get("role") == "region"]
    assert len(regions) == 4
    assert all(each.get("tabindex") == "0" and each.get("aria-label") for each in regions)


def test_levels_and_verdicts_are_told_in_words(page: str, past_summary: Summary) -> None:
    """Not by colour and shape alone."""
    root = tree(page)
    cells = [text_of(each) for each in root.iter(f"{NAMESPACE}td")]
    levels = [each.level for each in past_summary.cells]
    for level in set(levels):
        assert sum(text.endswith(level[0].upper() + level) for text in cells) == levels.count(level)
    verdicts = [each.verdict for each in (*past_summary.keys, *past_summary.phrases)]
    assert cells.count("▼ weak") == verdicts.count("weak") > 0
    assert cells.count("as good as the rest") == verdicts.count("as good as the rest")


def test_on_paper_the_figures_stand_in_one_row(page: str) -> None:
    """As many columns as there are figures."""
    figures = [each for each in tree(page).iter(f"{NAMESPACE}dl") if each.get("class") == "facts"]
    columns = re.search(r"@media print.*\.facts\{grid-template-columns:repeat\((\d),", page, re.S)
    assert columns
    assert int(columns[1]) == len(list(figures[0]))


def luminance(colour: str) -> float:
    """Return the relative luminance by WCAG 2.2's formula."""
    channels = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_of_contrast() -> None:
    """WCAG: black on white is 21:1, and #767676 on white just reaches 4.5:1."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert 4.5 <= contrast("#767676", "#ffffff") < 4.6
    assert contrast("#777777", "#ffffff") < 4.5


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_every_text_stands_out(colours: dict[str, str]) -> None:
    """Every colour of text on every ground: 4.5:1 at least, light and dark."""
    for text, ground in product(TEXT, GROUNDS):
        assert contrast(colours[text], colours[ground]) >= 4.5, (text, ground)


def test_text_has_no_other_colours() -> None:
    """The style sheet colours text by the checked variables only."""
    used = set(re.findall(r"(?<![-\w])(?:color|fill):([^;}]+)", stylesheet()))
    assert used <= {*(f"var(--{name})" for name in TEXT), "var(--line)", "none"}


def test_titles_are_escaped() -> None:
    """Markup, quotes, escape codes in a title are text on the page and nothing else."""
    evil = "<script>alert(1)</script> & \"x\" 'y' \x1b[31m\u202e"
    summary = made(cell(1, MAJOR[0], title=evil))
    page = of(replace(summary, phrases=(standing(1, evil),)))
    root = tree(page)
    assert not list(root.iter(f"{NAMESPACE}script"))
    assert "<script" not in page
    assert "\x1b" not in page
    assert "\u202e" not in page
    heads = [text_of(each) for each in root.iter(f"{NAMESPACE}th")]
    assert heads.count("<script>alert(1)</script> & \"x\" 'y' [31m") == 2


def test_an_empty_store_has_a_page() -> None:
    """It says how to begin, and is valid."""
    page = of(made(advice=Advice("add")))
    assert "drillbox add" in text_of(tree(page))
    assert not list(tree(page).iter(f"{NAMESPACE}table"))


def test_a_single_week_and_key(past_weeks: tuple[Week, ...]) -> None:
    """One column, one wedge: still a valid page."""
    root = tree(of(made(cell(1, MAJOR[3])), past_weeks[:1]))
    assert len(list(root.iter(f"{NAMESPACE}figure"))) == 7  # one circle, six plots


def test_columns_stay_in_their_drawing(past_weeks: tuple[Week, ...]) -> None:
    """Also where weeks were played above a goal that was lowered since: the scale says how far."""
    weeks = (replace(past_weeks[0], tempo=1.86), *past_weeks[1:])
    root = tree(of(made(cell(1, MAJOR[3])), weeks))
    columns = [each for each in root.iter(f"{SVG}rect") if each.get("class") == "bar"]
    assert min(float(each.get("y") or 0) for each in columns) == 10
    scales = [text_of(each) for each in root.iter(f"{SVG}text")]
    assert "186%" in scales


def test_what_was_put_aside_isnt_called_not_started() -> None:
    """The words for who can't see the signs say both, as the legend does."""
    root = tree(of(made(cell(1, MAJOR[3]))))
    unseen = [text_of(each) for each in root.iter(f"{NAMESPACE}span") if each.get("class") == "sr"]
    assert unseen.count("not started or put aside") == 11
    (words,) = (
        text_of(each) for each in root.iter(f"{SVG}desc") if each.get("id") == "circle-major-d"
    )
    assert words.count(" not started or put aside") == 12 - len(made(cell(1, MAJOR[3])).keys)


def test_modes_stand_in_the_circle_with_their_tonic_chord() -> None:
    """D Dorian is a wedge of the minor keys, at D; where D minor was played too, that is shown."""
    dorian, minor = parse_key("D Dorian"), parse_key("Dm")
    keys = (replace(standing(dorian.number, "D Dorian"), share=0.4),)
    page = of(replace(made(cell(1, dorian)), keys=keys))
    assert "Dm 40% recalled" in page
    keys += (standing(minor.number, "Dm"),)
    page = of(replace(made(cell(1, dorian), cell(2, minor)), keys=keys))
    assert "Dm 70% recalled" in page


def test_a_lenient_players_chances_are_explained() -> None:
    """As in the summary: what only fluent goes stand behind is said so."""
    assert LENIENT not in of(made(cell(1, MAJOR[3])))
    assert escape(LENIENT) in of(made(cell(1, MAJOR[3]), lenient=True))


def test_two_hundred_phrases() -> None:
    """A report leaves none out."""
    summary = made(*(cell(n, key) for n in range(1, 201) for key in MAJOR))
    root = tree(of(summary))
    heads = [text_of(each) for each in root.iter(f"{NAMESPACE}th") if each.get("scope") == "row"]
    assert sum(text == "Line 200" for text in heads) == 2
