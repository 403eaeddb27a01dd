"""Tunes about to be played with some of the worked phrases."""

from __future__ import annotations

from drillbox.memory.candidates import Candidate
from drillbox.music.fits import Phrases
from drillbox.music.keys import parse_key
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.tunes import Tune, parse_form
from drillbox.practice.adding import keep, prepare
from drillbox.practice.fits import Repertoire
from drillbox.practice.preferences import preferences_from
from drillbox.practice.readiness import Cards
from drillbox.practice.tunes import Choruses, wanted_in
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from drillbox.store.phrase_rows import phrases_in_practice
from tests.music.fits.worked import PHRASES
from tests.store.making import DAY, NOW

PLAIN = preferences_from({"zone": "UTC"})


def tune(text: str, form: str = "") -> Tune:
    """Return a tune in C."""
    read = parse_chart(text, parse_meter("4/4"))
    return Tune("Salt", parse_key("C"), 120, read, parse_form(form, len(read.bars)))


def own(store: Store, *names: str) -> Repertoire:
    """Return some of the worked phrases, each known a little."""
    keep(store, [prepare(each, PLAIN) for each in PHRASES if each.title in names], NOW)

    def chance(card: Candidate, _: int) -> float:
        return 0.5

    found = dict(phrases_in_practice(store))
    return Repertoire(found, Phrases(found.items()), Cards(candidates(store), chance, DAY))


def choruses(
    store: Store, played: Tune, *names: str, times: int = 2, timed: bool = True
) -> Choruses:
    """Return a tune about to be played, with all that fits of some phrases."""
    wanted = wanted_in(played, own(store, *names), PLAIN, new=True)
    return Choruses(store, PLAIN, played, wanted, choruses=times, now=NOW, timed=timed)
