"""What fits into a tune, as the player reads it: places, tempi, readiness, and bare bars."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache

import pytest

from drillbox.memory.candidates import Candidate
from drillbox.music.fits import Kind, Phrases
from drillbox.music.keys import parse_key
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.tunes import Tune, parse_form
from drillbox.practice.adding import keep, prepare
from drillbox.practice.fits import Repertoire, TuneFits, fits_in
from drillbox.practice.preferences import preferences_from
from drillbox.practice.readiness import Cards
from drillbox.practice.serving import overview
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from drillbox.store.phrase_rows import phrases_in_practice
from drillbox.store.values import NewPhrase
from tests.music.fits.worked import PHRASES
from tests.store.making import NOW

DAY = date(2026, 3, 6)
PLAIN = preferences_from({})


def tune(text: str, form: str = "", key: str = "C", tempo: int = 120) -> Tune:
    """Return a tune."""
    read = parse_chart(text, parse_meter("4/4"))
    return Tune("Salt", parse_key(key), tempo, read, parse_form(form, len(read.bars)))


@cache
def worked_phrases() -> list[NewPhrase]:
    """Return the worked phrases, laid out in their keys once for all tests."""
    return [prepare(each, PLAIN) for each in PHRASES]


def own(
    store: Store, chances: dict[str, float], *, parts: bool = False, played: tuple[str, ...] = ()
) -> Repertoire:
    """Return the worked phrases in a store; each key's chance is that of its name, else .9.

    All keys of those that were ``played`` were so on a day.
    """
    keep(store, worked_phrases(), NOW)

    def chance(card: Candidate, tempo: int) -> float:
        return chances.get(card.key, 0.9) * min(1.0, 200 / tempo)

    found = dict(phrases_in_practice(store))
    numbers = {number for number, each in found.items() if each.title in played}
    pool = [each._replace(clean=each.phrase_id in numbers) for each in candidates(store)]
    return Repertoire(found, Phrases(found.items(), parts=parts), Cards(pool, chance, DAY))


def rows(found: TuneFits) -> list[tuple]:
    """Return title, key, starts, kind and tempo of each row."""
    return [
        (row.title, row.key.text(), [float(at) for at in row.starts], row.fit.kind, row.tempo)
        for row in found.rows
    ]


def test_places_that_are_alike_are_one_row(store: Store) -> None:
    """The same ii-V-I three times is one line; the tempo is that of the tune."""
    found = fits_in(tune("Dm7 G7 | Cmaj7 | Fmaj7 | Dm7 G7 | C | Fmaj7 | Dm7 G7 | Cmaj7"),
                    own(store, {}), PLAIN)  # fmt: skip
    assert ("short", "C", [0.0, 24.0], Kind.EXACT, 120) in rows(found)
    assert ("short", "C", [12.0], Kind.TENSIONS, 120) in rows(found)
    assert ("long", "C", [0.0, 12.0, 24.0], Kind.DOUBLE_TIME, 240) in rows(found)


PLACE = "Dm7 | G7 | Cmaj7 | % | Ab7 | % | Eb6 | %"
"""The first bars take three phrases: long exactly, short in half time, minor for major."""


def test_of_two_phrases_at_a_place_the_readier_comes_first(store: Store) -> None:
    """Whatever their titles and kinds, where they were played."""
    repertoire = own(store, {"C": 0.3, "Cm": 0.6}, played=("long", "short", "minor"))
    found = fits_in(tune(PLACE), repertoire, PLAIN)
    assert [row.title for row in found.rows if row.starts == (0,)] == ["minor", "long", "short"]


@pytest.mark.parametrize(
    ("played", "order"),
    [((), ["long", "short", "minor"]), (("short",), ["short", "long", "minor"])],
)
def test_of_new_phrases_at_a_place_what_asks_least_comes_first(
    store: Store, played: tuple[str, ...], order: list[str]
) -> None:
    """Their chances are guesses that nobody sees; what was played comes before them all."""
    found = fits_in(tune(PLACE), own(store, {"C": 0.3, "Cm": 0.6}, played=played), PLAIN)
    there = [row for row in found.rows if row.starts == (0,)]
    assert [row.title for row in there] == order
    assert [row.title for row in there if row.ready.words != "new"] == list(played)


def test_what_no_phrase_covers_is_told_by_bars_and_sections(store: Store) -> None:
    """The bridge of which nothing is covered, and single bars elsewhere."""
    bars = "Dm7 | G7 | Cmaj7 | Ebmaj7"
    bridge = "Emaj7 | Abmaj7 | Bmaj7 | Ebmaj7"
    found = fits_in(tune(f"{bars} | {bars} | {bridge} | {bars}", "AABA"), own(store, {}), PLAIN)
    assert found.bare == ((3, 4), (7, 12), (15, 16))
    assert found.bare_sections == (("B", 8, 12),)


def test_what_lies_over_the_end_of_the_chorus_covers_both_sides(store: Store) -> None:
    """A cadence from the last bars to the first leaves neither bare."""
    found = fits_in(tune("Cmaj7 | Abmaj7 | Dm7 | G7"), own(store, {}), PLAIN)
    assert ("long", "C", [8.0], Kind.EXACT, 120) in rows(found)
    assert found.bare == ((1, 2),)


def test_what_leads_into_the_coda_covers_it(store: Store) -> None:
    """Where the last bar leads to the top as well, it is one place, counted once."""
    repertoire = own(store, {})
    bars = "Cmaj7 | Abmaj7 | Dbmaj7 | Dm7 G7 | Cmaj7 | Abmaj7"
    found = fits_in(tune(bars, "A4 coda2"), repertoire, PLAIN)
    assert ("short", "C", [12.0], Kind.EXACT, 120) in rows(found)
    assert found.bare == ((1, 3), (5, 6))
    into = fits_in(tune(f"Gb{bars[1:]}", "A4 coda2"), repertoire, PLAIN)
    assert ("short", "C", [12.0], Kind.EXACT, 120) in rows(into)
    assert into.bare == ((0, 3), (5, 6))
    counted = overview([tune(bars, "A4 coda2")], repertoire, PLAIN)
    assert {each.title: each.places for each in counted.serving}["short"] == 1


def test_keys_read_as_the_instrument_does(store: Store) -> None:
    """A tenor player reads D where C sounds, in the chart and in the rows."""
    tenor = preferences_from({"instrument": "tenor sax"})
    found = fits_in(tune("Dm7 G7 | Cmaj7"), own(store, {}), tenor)
    assert found.tune.key.text() == "D"
    assert {key for title, key, *_ in rows(found) if title == "short"} == {"D"}


def test_to_drill_is_what_is_not_ready_once_each(store: Store) -> None:
    """The same phrase in the same key at the same tempo is named once, what asks least first."""
    found = fits_in(tune("Dm7 G7 | Cmaj7 | Dm7 Db7 | Cmaj7"), own(store, {"C": 0.5}), PLAIN)
    shorts = [row for row in found.to_drill if row.title == "short"]
    assert [(row.key.text(), row.tempo, row.fit.kind) for row in shorts] == [("C", 120, Kind.EXACT)]


def test_to_drill_is_easiest_first(store: Store) -> None:
    """By what asks least of the ear, wherever a key's harder places lie."""
    bars = "Dm7 | G7 | Cmaj7 | % | Dm7 | Db7 | Cmaj7 | % | Fm7 Bb7 | Ebmaj7 | Abmaj7 | %"
    found = fits_in(tune(bars, tempo=80), own(store, {"C": 0.5, "Eb": 0.5, "Cm": 0.5}), PLAIN)
    kinds = [row.fit.kind for row in found.to_drill]
    assert kinds == sorted(kinds)
    assert (found.to_drill[0].title, found.to_drill[0].key.text()) == ("long", "C")


def test_what_is_far_beyond_the_goal_is_not_to_be_drilled(store: Store) -> None:
    """At 200 a phrase whose goal is 160 still fits, in half time it can be played."""
    found = fits_in(tune("Dm7 G7 | Cmaj7 | Fm7 | Bb7 | Ebmaj7 | %", tempo=200),
                    own(store, dict.fromkeys(("C", "Eb"), 0.1)), PLAIN)  # fmt: skip
    assert ("short", "C", [0.0], Kind.EXACT, 200) in rows(found)
    drilled = {(row.title, row.key.text(), row.tempo) for row in found.to_drill}
    assert drilled == {("short", "Eb", 100)}


@pytest.mark.parametrize(("tempo", "offered"), [(150, True), (151, False)])
def test_double_time_that_is_too_fast_to_hear_does_not_fit(
    store: Store, tempo: int, offered: bool
) -> None:
    """Eighths come ten a second at 300; a fast tune's own eighths are another thing."""
    repertoire = own(store, {})
    found = fits_in(tune("Dm7 G7 | Cmaj7 | Abmaj7 | %", tempo=tempo), repertoire, PLAIN)
    assert ("long" in {row.title for row in found.rows}) is offered
    fast = fits_in(tune("Dm7 | G7 | Cmaj7 | %", tempo=320), repertoire, PLAIN)
    assert ("long", "C", [0.0], Kind.EXACT, 320) in rows(fast)


@pytest.mark.parametrize(("chance", "listed"), [(0.8, False), (0.799, True)])
def test_what_is_called_ready_is_not_to_be_drilled(
    store: Store, chance: float, listed: bool
) -> None:
    """From a chance of 0.8 on exactly, just below it no more."""
    place = tune("Dm7 G7 | Cmaj7 | Dm7 Db7 | Cmaj7")
    found = fits_in(place, own(store, {"C": chance}), PLAIN)
    assert chance in {row.ready.chance for row in found.rows if row.title == "short"}
    drilled = {(row.title, row.key.text()) for row in found.to_drill}
    assert (("short", "C") in drilled) is listed


def test_a_place_with_many_phrases_says_how_many_more_there_are(store: Store) -> None:
    """Four are listed, and the rest counted."""
    repertoire = own(store, {}, parts=True)
    more = {100 + n: repertoire.phrases[1] for n in range(7)}
    crowd = {**repertoire.phrases, **more}
    crowded = Repertoire(crowd, Phrases(crowd.items()), _Everyone(repertoire.cards))
    found = fits_in(tune("Dm7 | G7 | Cmaj7 | %"), crowded, PLAIN)
    assert len([row for row in found.rows if row.starts == (0,)]) == 4
    assert found.more == 6  # long, short, minor and seven like long, less four


def test_what_is_too_fast_stands_last_and_is_called_so(store: Store) -> None:
    """What can't be played there doesn't take a place of the four from what can."""
    repertoire = own(store, {})
    quick = replace(repertoire.phrases[1], tempo=300)
    crowd = {**{100 + n: repertoire.phrases[1] for n in range(4)}, 200: quick}
    crowded = Repertoire(crowd, Phrases(crowd.items()), _Everyone(repertoire.cards))
    found = fits_in(tune("Dm7 | G7 | Cmaj7 | %", tempo=300), crowded, PLAIN)
    there = [(row.phrase, row.ready_in_words) for row in found.rows if row.starts == (0,)]
    assert (there[0][0], len(there)) == (200, 4)
    assert [words for _, words in there] == ["new", *["too fast"] * 3]


class _Everyone(Cards):
    """Cards in which every phrase stands like the first."""

    def __init__(self, cards: Cards) -> None:
        self.cards = cards

    def __len__(self):
        return len(self.cards)

    def has(self, phrase, tonic):
        return True

    def key(self, phrase, tonic):
        return self.cards.key(min(phrase, 1) if phrase >= 100 else phrase, tonic)

    def ready(self, phrase, tonic, tempo):
        return self.cards.ready(min(phrase, 1) if phrase >= 100 else phrase, tonic, tempo)


def test_an_overview_counts_tunes_places_and_keys(store: Store) -> None:
    """Which phrases serve most, which keys are needed, which phrases are idle."""
    tunes = [tune("Dm7 G7 | Cmaj7 | Dm7 G7 | Cmaj7"), tune("Gm7 C7 | Fmaj7 | Abmaj7 | %")]
    covered: list[tuple[str, float]] = []
    found = overview(tunes, own(store, {}), PLAIN, lambda *row: covered.append(row))
    serving = {each.title: each for each in found.serving}
    assert found.serving[0].title == "long"  # as many as short, and before it by its title
    assert (serving["short"].tunes, serving["short"].places) == (2, 3)
    assert [key.text() for key in serving["short"].keys] == ["C", "F"]
    needed = {each.key.text(): (each.tunes, each.places, each.phrases) for each in found.needed}
    assert needed["C"] == (1, 4, 2)
    assert needed["F"] == (1, 2, 2)
    assert needed["Db"] == (0, 0, 0)
    assert covered == [("Salt", 1.0), ("Salt", 0.5)]
    assert set(found.idle) == {"minor", "turn", "cycle", "vamp"}


def test_a_key_that_is_put_aside_fits_nowhere(store: Store) -> None:
    """What the player doesn't drill isn't offered, nor counted as needed."""
    repertoire = own(store, {})
    kept = [each for each in candidates(store) if each.key != "F"]
    without = replace(repertoire, cards=Cards(kept, lambda card, tempo: 0.5, DAY))
    found = fits_in(tune("Gm7 C7 | Fmaj7 | Dm7 G7 | Cmaj7"), without, PLAIN)
    assert {row.key.text() for row in found.rows} == {"C"}
    assert found.bare == ((0, 2),)
    needed = {each.key.text(): each.places for each in overview([tune("Gm7 C7 | F6")], without,
                                                                PLAIN).needed}  # fmt: skip
    assert needed["F"] == 0
