"""Fits and gigs on screen: golden at several widths, from invented chances."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from rich.cells import cell_len
from rich.console import Group
from rich.text import Text

from drillbox.memory.candidates import Candidate, Pace
from drillbox.music.fits import Clash, Phrases, ticks
from drillbox.music.keys import parse_key
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.tunes import Tune, parse_form
from drillbox.practice.adding import keep, prepare
from drillbox.practice.fits import Repertoire, fits_in
from drillbox.practice.gigs import gig_of
from drillbox.practice.preferences import preferences_from
from drillbox.practice.readiness import Cards
from drillbox.practice.serving import overview
from drillbox.screen.fit_places import Coverage, clash_text, overview_screen, tune_page
from drillbox.screen.gig_outlook import gig_lines, gig_screen
from drillbox.screen.look import Look
from drillbox.screen.tune_list import tune_list, tune_screen
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import phrases_in_practice
from drillbox.store.tune_rows import NewTune, add_gig, add_tunes
from tests.music.fits.worked import PHRASES
from tests.screen.conftest import drawn
from tests.store.making import NOW

TODAY, FRIDAY = date(2026, 3, 2), date(2026, 3, 6)
PLAIN = preferences_from({"zone": "UTC"})
CHART = (
    "Ebmaj7 | C7 | Fm7 Bb7 | Ebmaj7 | Ebmaj7 | C7 | Fm7 Bb7 | Ebmaj7 |"
    "Abm7 | Db7 | Gbmaj7 | Dmaj7 | Ebmaj7 | C7 | Fm7 E7 | Ebmaj7"
)
LOOKS = [
    ("80", Look(width=80)),
    ("40", Look(width=40)),
    ("80-ascii", Look(width=80, ascii=True)),
    ("plain", Look(width=80, plain=True)),
]


def tunes() -> list[Tune]:
    """Return two invented tunes."""
    read = parse_chart(CHART, parse_meter("4/4"))
    other = parse_chart("Gm6 | Cm7 | F7 | Bbmaj7 | Am7b5 | D7b9 | Gm6 | %", parse_meter("4/4"))
    return [
        Tune("Tram to the lake", parse_key("Eb"), 132, read, parse_form("AABA", 16)),
        Tune("Salt and slate", parse_key("Gm"), 176, other),
    ]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Return a store with the worked phrases and two tunes."""
    place: Path = tmp_path_factory.mktemp("fits") / "store.sqlite3"
    with open_store(place, now=NOW, backups=False) as opened:
        keep(opened, [prepare(each, PLAIN) for each in PHRASES], NOW)
        add_tunes(opened, [NewTune(each, ("Friday",)) for each in tunes()], NOW)
        yield opened


@pytest.fixture
def own(store: Store) -> Repertoire:
    """Return the phrases with chances that fall with tempo, and rise with each visit."""
    pool = [card._replace(clean=card.card_id % 13, last_day=1) for card in candidates(store)]

    def chance(card: Candidate, tempo: int) -> float:
        return min(0.97, (0.4 + card.clean / 24) * min(1.0, 150 / tempo))

    found = dict(phrases_in_practice(store))
    return Repertoire(found, Phrases(found.items()), Cards(pool, chance, FRIDAY))


@pytest.mark.parametrize(("name", "look"), LOOKS)
def test_a_tunes_page_looks_as_it_did(own, golden: Callable, name: str, look: Look) -> None:
    """Chart with numbered places, a row for each, what rubs, what is bare, what to drill."""
    page = fits_in(tunes()[0], own, PLAIN)
    golden(f"fits-{name}", drawn(tune_page(page, ("Friday",), look), look))


@pytest.mark.parametrize(
    ("onset", "at", "start", "note", "said"),
    [
        (0, 0, 4, ("5", "5", "b5"), "bar 1, beat 1 (a natural 5th over Dø7: make it the ♭5)"),
        ("3.5", 4, 4, ("11", "11", "3"), "bar 1, beat 4& (the 11th over G7: make it the 3rd)"),
        (8, 8, 4, ("3", "3", "b3"), "bar 3, beat 1 (a major 3rd over Cm6: make it the ♭3)"),
        (4, 4, 12, ("3", "3", "b3"), "bar 2, beat 1 (a major 3rd over Gm7: make it the ♭3)"),
        (0, 0, 20, ("b9", "b9", ""), "bar 1, beat 1 (the ♭9 over A♭maj7)"),
    ],
)
def test_a_note_that_rubs_is_told_with_what_to_make_of_it(
    own, onset: str | int, at: int, start: int, note: tuple[str, str, str], said: str
) -> None:
    """Over the chord of the tune that it is heard with: in the chorus, past its end at the top,
    and in the coda."""
    row = fits_in(tunes()[0], own, PLAIN).rows[0]
    placed = row.fit._replace(begins=ticks(start), over_seam=start == 12)
    row = replace(row, fits=(placed,))
    chart = parse_chart("Gm7 | Dm7b5 | G7 | Cm6 | Abmaj7 | %", parse_meter("4/4"))
    tune = Tune("Six bars", parse_key("Cm"), 120, chart, parse_form("A4 coda2", 6))
    was, becomes, better = note
    clash = Clash(Fraction(onset), at, was, becomes, better)
    told = {"3": "3rd", "5": "5th", "11": "11th"}.get(was, was.replace("b", "♭"))
    assert clash_text(clash, row, tune, Look()) == f"the {told} in its {said}"


@pytest.mark.parametrize(("name", "look"), LOOKS)
def test_an_overview_looks_as_it_did(own, golden: Callable, name: str, look: Look) -> None:
    """Phrases that serve most, keys that are needed and those that aren't, tunes covered."""
    coverage = Coverage([each.title for each in tunes()], look)
    rows = [] if look.plain else [coverage.heading()]
    found = overview(tunes(), own, PLAIN, lambda *row: rows.append(coverage.row(*row)))
    golden(f"overview-{name}", drawn(Group(*rows, Text(), overview_screen(found, look)), look))


@pytest.mark.parametrize(("name", "look"), LOOKS)
def test_a_gig_looks_as_it_did(store, own, golden: Callable, name: str, look: Look) -> None:
    """Days and minutes left, tunes, and each key with what comes of it by then."""
    view = gig_of("Friday", FRIDAY, tunes(), own, TODAY, PLAIN, Pace())
    golden(f"gig-{name}", drawn(gig_screen(view, look), look))


def test_a_gig_that_has_been_says_so(own) -> None:
    """It asks for nothing any more."""
    look = Look()
    view = gig_of("Friday", FRIDAY, tunes(), own, date(2026, 3, 7), PLAIN, Pace())
    text = drawn(gig_screen(view, look), look)
    assert "It was on Friday 2026-03-06; it no longer counts in your plan." in text
    assert "drill --gig" not in text
    assert "chance:" not in text


def test_a_gig_says_what_its_chances_are_of(own) -> None:
    """On its own day no key rests until then any more."""
    look = Look(plain=True)
    views = [gig_of("Friday", FRIDAY, tunes(), own, day, PLAIN, Pace()) for day in (TODAY, FRIDAY)]
    said = [drawn(gig_screen(each, look), look) for each in views]
    assert "chance: that a first go on the day comes out clean if the key rests until" in said[0]
    assert "chance: that today's first go comes out clean.\n" in said[1]
    assert "rests until" not in said[1]


def test_a_gig_says_what_a_key_lacks(own) -> None:
    """Days, or minutes; with nothing that can be ready it says how to drill the nearest."""
    look = Look(width=80)
    view = gig_of("Friday", FRIDAY, tunes(), own, date(2026, 3, 5), PLAIN, Pace())
    text = drawn(gig_screen(view, look), look)
    assert "needs 9 days" in text
    assert "None of it is likely to be ready." in text
    assert "Better left" not in text  # the line after it drills them
    assert "Drill what is nearest with: drillbox drill --gig Friday" in text
    few = preferences_from({"minutes": 1})
    hurried = drawn(gig_screen(gig_of("Friday", FRIDAY, tunes(), own, TODAY, few, Pace()), look),
                    look)  # fmt: skip
    assert "short of minutes" in hurried
    assert "Drill for it with: drillbox drill --gig Friday" in hurried


def test_a_gig_says_which_tune_gets_no_drill(own) -> None:
    """What fits into it is too fast, so that no bar of it is covered; or nothing fits at all."""
    bare = parse_chart("Cmaj7 | Dmaj7 | Emaj7", parse_meter("4/4"))
    fast = replace(tunes()[0], title="Fast one", tempo=400)
    some = [tunes()[0], fast, Tune("Bare one", parse_key("C"), 120, bare)]
    look = Look(width=80, plain=True)
    text = drawn(gig_screen(gig_of("Friday", FRIDAY, some, own, TODAY, PLAIN, Pace()), look), look)
    assert "tune Fast one, tempo 400, bars covered 0 of 16" in text
    assert "Nothing of yours is near the tempo of Fast one." in text
    assert "Nothing of yours fits into Bare one." in text
    assert "Tram to the lake." not in text


def test_a_place_beyond_reach_is_called_too_fast(own) -> None:
    """Whatever its chance."""
    look = Look(width=80, plain=True)
    fast = replace(tunes()[0], tempo=300)
    text = drawn(tune_page(fits_in(fast, own, PLAIN), (), look), look)
    assert "tempo 300, ready? too fast, chance" in text
    assert "ready? not yet" not in text


@pytest.mark.parametrize(
    ("chart", "form", "said"),
    [
        ("Dm7 G7 | Cmaj7 | Dm7 G7 | Cmaj7 | Abmaj7", "A4 coda1", "Nothing fits: coda (bar 5)."),
        ("Abmaj7 | Dm7 G7 | Cmaj7", "intro1 A2", "Nothing fits: intro (bar 1)."),
        ("Abmaj7 | Dbmaj7 | Dm7 G7 | Cmaj7", "intro2 A2", "Nothing fits: intro (bars 1 to 2)."),
        ("Abmaj7 | Dm7 G7 | Cmaj7 | Abmaj7", "", "Nothing fits: bar 1, bar 4."),
    ],
)
def test_bare_bars_are_named_as_many_as_they_are(own, chart: str, form: str, said: str) -> None:
    """One bar is a bar."""
    read = parse_chart(chart, parse_meter("4/4"))
    salt = Tune("Salt", parse_key("C"), 120, read, parse_form(form, len(read.bars)))
    assert said in drawn(tune_page(fits_in(salt, own, PLAIN), (), Look()), Look())


@pytest.mark.parametrize("title", ["short", "A line of many words that nobody would cut"])
@pytest.mark.parametrize("width", [40, 60, 76, 80, 100])
def test_no_word_of_a_page_is_cut(own, width: int, title: str) -> None:
    """Where the table has no room for all that it says, each place has lines of its own; a title
    is cut where enough of it is left to know it by."""
    look = Look(width=width)
    page = fits_in(tunes()[0], own, PLAIN)
    rows = tuple(replace(row, title=title, fits=row.fits * 3) for row in page.rows)
    text = drawn(tune_page(replace(page, rows=rows), (), look), look)
    lines = text.splitlines()
    assert max(map(cell_len, lines)) <= width
    for words in ("tritone substitute", "minor for major", "too fast", "some goes"):
        assert words in " ".join(text.split())
    assert all("A line of" in line.split("…")[0] for line in lines if "…" in line)


def test_a_long_title_is_broken_beside_a_narrow_table(own) -> None:
    """Two phrases of one beginning can be told apart in a gig at 40 columns."""
    look = Look(width=40)
    view = gig_of("Friday", FRIDAY, tunes(), own, TODAY, PLAIN, Pace())
    words = ("hinge", "latch", "lever", "ladle")
    needs = tuple(
        replace(need, row=replace(need.row, title=f"Loose {word}"))
        for need, word in zip(view.needs, words, strict=True)
    )
    text = drawn(gig_screen(replace(view, needs=needs), look), look)
    assert all(word in text for word in words)
    assert max(map(cell_len, text.splitlines())) <= 40


def test_a_gig_says_that_a_key_is_new_as_fits_does(own) -> None:
    """What was never played has no chance to be shown: it would be a guess."""
    view = gig_of("Friday", FRIDAY, tunes(), own, TODAY, PLAIN, Pace())
    need = view.needs[0]
    row = replace(need.row, ready=need.row.ready._replace(days=0))
    look = Look(width=80, plain=True)
    text = drawn(gig_screen(replace(view, needs=(replace(need, row=row),)), look), look)
    assert f", places {need.places}, chance new, minutes" in text


def test_a_narrow_page_says_from_which_bars(own) -> None:
    """One bar, or several; each is where the place begins."""
    read = parse_chart("Dm7 G7 | Cmaj7 | Dm7 G7 | Cmaj7 | Fm7 Bb7 | Ebmaj7", parse_meter("4/4"))
    look = Look(width=40)
    page = fits_in(Tune("Salt", parse_key("C"), 120, read), own, PLAIN)
    text = " ".join(drawn(tune_page(page, (), look), look).split())
    assert "short in C, from bars 1, 3: exact at 120;" in text
    assert "short in E♭, from bar 5: exact at 120;" in text


def test_a_gig_without_tunes_says_so(own, tmp_path: Path) -> None:
    """In the list and on its page, with what to do."""
    look = Look(width=80)
    text = drawn(gig_screen(gig_of("Friday", FRIDAY, [], own, TODAY, PLAIN, Pace()), look), look)
    assert "It has no tunes left." in text
    assert "None of your phrases" not in text
    assert "drillbox gig edit Friday --tunes" in " ".join(text.split())
    with open_store(tmp_path / "s.sqlite3", now=NOW, backups=False) as store:
        gig = add_gig(store, "Friday", FRIDAY, [], NOW)
    assert gig_lines([gig], TODAY, Look()) == [
        "no. 1, Friday, Fri 2026-03-06 (in 4 days): no tunes left"
    ]


@pytest.mark.parametrize(
    ("today", "said"),
    [("2026-03-02", "in 4 days"), ("2026-03-05", "tomorrow"), ("2026-03-06", "today"),
     ("2026-03-07", "has been")],
)  # fmt: skip
def test_a_list_of_gigs_says_when(made: Path, today: str, said: str) -> None:
    """In words, with its number, date and tunes."""
    with open_store(made, now=NOW, backups=False) as store:
        found = add_tunes(store, [NewTune(each) for each in tunes()], NOW)
        gig = add_gig(store, "Friday", FRIDAY, found, NOW)
    (line,) = gig_lines([gig], date.fromisoformat(today), Look())
    assert line == f"no. 1, Friday, Fri 2026-03-06 ({said}): Tram to the lake, Salt and slate"


@pytest.mark.parametrize(("name", "look"), LOOKS)
def test_tunes_look_as_they_did(golden: Callable, name: str, look: Look) -> None:
    """A list of tunes, and one of them by its sections."""
    listed = [(number, each, ("Friday",)) for number, each in enumerate(tunes(), start=1)]
    text = drawn(tune_list(listed, look), look)
    golden(f"tunes-{name}", text + drawn(tune_screen(tunes()[0], ("Friday",), look), look))
