"""What is said of the next tempo is what is then played."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path
from random import Random

from drillbox.memory.recall import Recall
from drillbox.player.in_drill import InDrill
from drillbox.practice.adding import keep, prepare, typed_phrase
from drillbox.practice.drilling import Drill
from drillbox.practice.preferences import preferences_from
from drillbox.store.card_rows import candidates
from drillbox.store.opening import open_store
from tests.store.making import NOW

PREFERENCES = preferences_from({"zone": "UTC"})


def test_after_a_miss_below_the_tempo_reached(made: Path):
    """Cold, a key is played slower than it had climbed to; lost there, the next go is slower
    still, though what was reached falls by a rung only. The message names the next go's tempo."""
    phrase = typed_phrase(title="Red door", key="C", tempo="120", chart="Dm7 G7 | Cmaj7 (A7)")
    with open_store(made, now=NOW, backups=False) as store:
        keep(store, [prepare(phrase, PREFERENCES)], NOW)
        first = Drill(store, PREFERENCES, minutes=20, now=NOW)
        only = frozenset([first.showing.card.id])
        climbing = Drill(store, PREFERENCES, minutes=20, now=NOW, only=only)
        for recall in (Recall.LOST, Recall.FLUENT, Recall.FLUENT, Recall.FLUENT):
            climbing.rate(recall, NOW)
        reached = climbing.showing.card.state.tempo.tempo
        days = NOW + timedelta(days=4)
        drill = Drill(store, PREFERENCES, minutes=20, now=days, only=only)
        playing = InDrill(drill, lambda: days, ascii=True)
        cold = playing.showing.tempo
        assert cold < reached - 6
        said = playing.actions()["lost"]().message
        assert playing.showing.tempo == cold - 6
        assert said == f"Red door in C: lost. Next time today at {cold - 6}."
        assert playing.showing.card.state.tempo.tempo == reached - 6


def test_what_is_said_of_the_next_tempo_is_then_played(made: Path):
    """Over eight days of chance ratings, cold goes below the tempo reached among them."""
    dice, said, kept = Random(2), {}, 0
    with open_store(made, now=NOW, backups=False) as store:
        for title in ("Red door", "Tin tram"):
            phrase = typed_phrase(title=title, key="C", tempo="120", chart="Dm7 G7 | Cmaj7 (A7)")
            keep(store, [prepare(phrase, PREFERENCES)], NOW)
        for day in range(0, 24, 3):
            now = NOW + timedelta(days=day)
            playing = InDrill(Drill(store, PREFERENCES, minutes=20, now=now), lambda at=now: at,
                              ascii=True)  # fmt: skip
            said.clear()
            for _ in range(25):
                shown = playing.showing
                kept += shown.card.id in said
                assert said.get(shown.card.id, shown.tempo) == shown.tempo
                word = dice.choice(["lost", "rough", "clean", "clean", "fluent"])
                message = playing.actions()[word]().message
                found = re.search(r"Next time today at (\d+)", message)
                said[shown.card.id] = int(found[1]) if found else shown.tempo
    assert kept > 50


def test_in_a_drill_for_a_gig(made: Path):
    """No faster than its tunes: the message names the tempo at which the key comes again, and
    nothing where that is the one just played."""
    phrase = typed_phrase(title="Red door", key="C", tempo="120", chart="Dm7 G7 | Cmaj7 (A7)")
    with open_store(made, now=NOW, backups=False) as store:
        keep(store, [prepare(phrase, PREFERENCES)], NOW)
        goals = {each.card_id: 76 for each in candidates(store)[:3]}
        drill = Drill(store, PREFERENCES, minutes=20, now=NOW, only=frozenset(goals), goals=goals)
        playing = InDrill(drill, lambda: NOW, ascii=True)
        first = playing.showing
        assert first.tempo == 72
        for press, follows in (("faster", "has reached the gig's tempo"),
                               ("slower", "climbs on from here")):  # fmt: skip
            assert playing.actions()[press]().message.endswith(
                f": rated clean, this key {follows}."
            )
        said = playing.actions()["fluent"]().message
        assert said.endswith(": fluent. Next time today at 76.")
        while playing.showing.card.id != first.card.id:
            playing.actions()["clean"]()
        assert playing.showing.tempo == 76
        for press, tempo in (("faster", 82), ("slower", 76), ("slower", 70)):
            said = playing.actions()[press]().message
            assert said == f"Tempo {tempo} for this go; for the gig the key stays at 76."
        said = playing.actions()["clean"]().message
        assert said.endswith(": clean. Next time today at 76.")
        while playing.showing.card.id != first.card.id:
            playing.actions()["clean"]()
        assert playing.actions()["fluent"]().message.endswith(": fluent.")


def test_in_a_drill_for_a_gig_that_is_faster_than_the_goal(made: Path):
    """A key at its goal is played at the gig's tempo, is told so, and goes no faster."""
    phrase = typed_phrase(title="Red door", key="C", tempo="120", chart="Dm7 G7 | Cmaj7 (A7)")
    with open_store(made, now=NOW, backups=False) as store:
        keep(store, [prepare(phrase, PREFERENCES)], NOW)
        card_id = candidates(store)[0].card_id
        goals = {card_id: 126}
        drill = Drill(store, PREFERENCES, minutes=60, now=NOW, only=frozenset(goals), goals=goals)
        playing = InDrill(drill, lambda: NOW, ascii=True)
        while playing.showing.tempo < 120:
            said = playing.actions()["fluent"]().message
        assert said.endswith(": fluent. Next time today at 126.")
        assert playing.showing.tempo == 126
        assert drill.change_tempo(1) == 126
        assert drill.change_tempo(-1) == 120
        assert drill.change_tempo(1) == 126
        assert playing.actions()["clean"]().message.endswith(": clean.")
