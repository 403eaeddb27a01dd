"""A tune played through: where its phrases come, how far it was heard, what each attempt holds."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from functools import partial
from itertools import accumulate

import pytest

from drillbox.errors import BadInput
from drillbox.memory.recall import Recall
from drillbox.music.keys import parse_key
from drillbox.practice.looping import Heard, Wanted, tune_loop
from drillbox.practice.tunes import Choruses, cues_in, wanted_in
from drillbox.store.access import Store
from tests.practice.choruses import PLAIN, choruses, own, tune
from tests.store.making import NOW
from tests.store.reading import attempts_of


def test_spots_come_in_every_chorus(store: Store) -> None:
    """Once in each, after the intro; the intro and the coda once."""
    played = choruses(store, tune("Abmaj7 | Dm7 G7 | Cmaj7 | Abmaj7", "intro1 A2 coda1"), "short")
    assert played.order == (0, 1, 2, 1, 2, 3)
    assert [float(spot.start) for spot in played.spots] == [4.0, 12.0]
    assert float(played.length) == 24.0


def test_a_spot_over_the_end_comes_only_where_the_chorus_goes_on(store: Store) -> None:
    """A ii-V in the last bar leads to the first bar, and the last time to nothing."""
    played = choruses(store, tune("Cmaj7 | Abmaj7 | Dm7 G7"), "short", times=3)
    assert [float(spot.start) for spot in played.spots] == [8.0, 20.0]


@pytest.mark.parametrize(
    ("top", "coda", "starts"),
    [
        ("Fmaj7", "Cmaj7", [28.0]),  # the last chorus alone leads to a C
        ("Cmaj7", "Fmaj7", [12.0]),  # the first alone
        ("Cmaj7", "Cmaj7", [12.0, 28.0]),
    ],
)
def test_a_spot_at_the_end_comes_where_the_tune_goes_on_so(
    store: Store, top: str, coda: str, starts: list[float]
) -> None:
    """A ii-V in the last bar leads to the top of the next chorus, or into the coda."""
    ends = tune(f"{top} | Fmaj7 | Abmaj7 | Dm7 G7 | {coda} | Dbmaj7", "A4 coda2")
    played = choruses(store, ends, "short")
    assert [float(spot.start) for spot in played.spots] == starts


def test_what_has_no_place_is_not_waited_for(store: Store) -> None:
    """With one chorus nothing follows the seam: the ii-V over it isn't asked for, the one after
    it is; where nothing else fits, that is said."""
    seam = "Cmaj7 | Abmaj7 | Dm7 G7"
    played = choruses(
        store, tune(f"{seam} | Dbmaj7 | Fm7 Bb7 | Ebmaj7 | Ebmaj7", "A3 coda4"), "short", times=1
    )
    assert [each.key.text() for each in played.reads] == ["Eb"]
    played.hear(played.length)
    assert played.asked == 0
    with pytest.raises(BadInput, match="the tune ends"):
        choruses(store, tune(seam), times=1)


def test_a_tempo_asked_for_decides_what_fits(store: Store) -> None:
    """A phrase comes in half time where that isn't too slow to be an attempt's tempo."""
    slow = tune("Dm7 | G7 | Cmaj7 | Cmaj7")
    (half,) = choruses(store, slow, "short").wanted
    assert half.row.fit.pace == Fraction(1, 2)
    (other,) = choruses(store, replace(slow, tempo=30)).wanted
    assert other.row.fit.pace == 1


def test_a_key_comes_in_one_way(store: Store) -> None:
    """Where a phrase fits exactly it isn't played in half time as well."""
    played = choruses(store, tune("Dm7 G7 | Cmaj7 | Dm7 | G7 | Cmaj7 | %"), "short")
    assert [float(spot.start) for spot in played.spots] == [0.0, 24.0]


def test_what_was_heard_can_be_rated(store: Store) -> None:
    """As far as the beat came: one phrase of two, once; its attempt holds tempo and times."""
    played = choruses(store, tune("Dm7 G7 | Cmaj7 | Fm7 Bb7 | Ebmaj7"), "short")
    assert len(played.reads) == 2
    played.hear(4)
    assert played.asked is None
    played.hear(9)
    assert (played.asked, played.at) == (0, 1)
    done = played.rate(0, Recall.CLEAN, NOW + timedelta(minutes=1))
    assert done is not None
    played.stop()
    assert played.asked is None
    (attempt,) = attempts_of(store, played.reads[0].id)
    assert (attempt.tempo, attempt.loops, attempt.in_round, attempt.seconds) == (120, 1, True, 3.0)
    assert played.undo(NOW + timedelta(minutes=2))
    assert played.asked == 0


def test_now_and_next(store: Store) -> None:
    """What sounds, and what comes after it."""
    played = choruses(store, tune("Abmaj7 | Dm7 G7 | Cmaj7 | Abmaj7"), "short", times=1)
    (spot,) = played.spots
    assert played.now_and_next(0) == (None, spot)
    assert played.now_and_next(4) == (spot, None)
    assert played.now_and_next(12) == (None, None)


def test_nothing_that_fits_is_said(store: Store) -> None:
    """Why: nothing fits, or only at a tempo far beyond its goal, or no key of it was played yet."""
    repertoire = own(store, "short")
    short = "Dm7 G7 | Cmaj7"
    for text, tempo, new, said, remedy in (
        ("Abmaj7 | %", 120, True, "None of your phrases fits into 'Salt'", "fits TUNE --parts"),
        ("Abmaj7 | %", 120, False, "None of your phrases fits into 'Salt'", "fits TUNE --parts"),
        (short, 200, True, "Nothing that fits into 'Salt' is near its goal at 200", "slower"),
        (short, 200, False, "Nothing that fits into 'Salt' is near its goal at 200", "slower"),
        (short, 120, False, "None of the keys that you have played fits into 'Salt'", "--all"),
    ):
        with pytest.raises(BadInput) as raised:
            wanted_in(replace(tune(text), tempo=tempo), repertoire, PLAIN, new=new)
        assert raised.value.what == said
        assert remedy in raised.value.remedy
        assert ("--all" in raised.value.remedy) is (remedy == "--all")


SEAM = "Fmaj7 | Abmaj7 | Dm7 G7"


@pytest.mark.parametrize(
    ("text", "form", "starts"),
    [
        (f"Cmaj7{SEAM[5:]}", "", [8.0, 20.0]),  # the last chorus leads to nothing
        (f"{SEAM} | Cmaj7", "A3 coda1", [32.0]),  # the last chorus alone leads to a C
        (f"Cmaj7{SEAM[5:]} | Fmaj7", "A3 coda1", [8.0, 20.0]),
        (f"Ab7 | {SEAM} | Cmaj7", "intro1 A3 coda1", [36.0]),
    ],
)
def test_a_loop_names_a_phrase_where_a_round_has_its_place(
    store: Store, text: str, form: str, starts: list[float]
) -> None:
    """In a chorus that goes on as it does in the fit, and in no other."""
    found = own(store, "short")
    salt = tune(text, form)
    loops = {"": 3, "A3 coda1": 3, "intro1 A3 coda1": 3}[form]
    cues = partial(cues_in, own=found, preferences=PLAIN)
    made = tune_loop(PLAIN, salt, Wanted(loops=loops), Heard(), cues)
    at = accumulate((part.chart.length for part in made.parts), initial=Fraction(0))
    named = [
        (float(begins + when), words)
        for begins, part in zip(at, made.parts, strict=False)
        for when, words in part.cues
    ]
    assert named == [(start, "short in C") for start in starts]
    wanted = wanted_in(salt, found, PLAIN, new=True)
    played = Choruses(store, PLAIN, salt, wanted, choruses=loops, now=NOW)
    assert [float(spot.start) for spot in played.spots] == starts


def test_a_loop_names_what_is_in_reach_at_the_tempo_that_is_played(store: Store) -> None:
    """At 200 a phrase whose goal is 160 isn't named, at 120 it is."""
    cues = partial(cues_in, own=own(store, "short"), preferences=PLAIN)
    for tempo, count in ((120, 1), (200, 0)):
        made = tune_loop(PLAIN, tune("Dm7 G7 | Cmaj7"), Wanted(tempo=tempo, loops=1), Heard(), cues)
        assert len(made.parts[0].cues) == count


@pytest.mark.parametrize("key", ["Am", "D Dorian"])
def test_a_tune_isnt_looped_in_another_mode(key: str) -> None:
    """A tune in C has no loop in Am, rather than one in A; a tonic alone keeps the tune's mode."""
    with pytest.raises(BadInput, match=f"'Salt' is in C, so it can't be played in {key}"):
        tune_loop(PLAIN, tune("Dm7 G7 | Cmaj7"), Wanted(key), Heard())
    minor = replace(tune("Dm7b5 G7 | Cm6"), key=parse_key("Cm"))
    for same in ("A", "Am"):
        assert tune_loop(PLAIN, minor, Wanted(same), Heard()).key.text() == "Am"


def test_a_loop_of_a_tune_that_lasts_too_long_is_refused_at_once() -> None:
    """Before its choruses are laid out; how long it would last is told."""
    with pytest.raises(BadInput, match="This loop would last 66666666:40 min at 120"):
        tune_loop(PLAIN, tune("Dm7 G7 | Cmaj7"), Wanted(loops=10**9), Heard())
