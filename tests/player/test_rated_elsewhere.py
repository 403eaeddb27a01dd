"""Two drills on one store: a rating on which another stands can't be undone, and that is said."""

from __future__ import annotations

from pathlib import Path

from drillbox.player.in_drill import InDrill
from drillbox.player.session import do, safely
from drillbox.practice.drilling import Drill
from drillbox.practice.preferences import preferences_from
from drillbox.store.opening import open_store
from drillbox.terminal.presses import Press
from tests.player.children import ended, pexpect, ratings, spawn
from tests.store.making import NOW

SAID = "This key was rated in another session meanwhile. Your rating of it stays as it is."


def test_undoing_it_says_only_what_is_so(blue_stairs: Path, place: Path):
    """Pressing it again wouldn't help, so it isn't asked for; nothing is changed."""
    place.write_bytes(blue_stairs.read_bytes())
    place.chmod(0o600)
    mine = preferences_from({"zone": "UTC"})
    with open_store(place, now=NOW, backups=False) as store:
        first, second = (
            InDrill(Drill(store, mine, minutes=20, now=NOW), lambda: NOW, ascii=True)
            for _ in range(2)
        )
        for session in (first, second):
            do(session, Press("c"), session.actions())
        told = safely(lambda: do(first, Press("u"), first.actions()))
    assert told.message == SAID
    assert not told.over
    assert ratings(place) == [3, 3]


def test_the_same_in_two_terminals(quick: Path):
    """As above, with real presses."""
    one, two = spawn(quick, "drill", size=(24, 100)), spawn(quick, "drill", size=(24, 100))
    for child in (one, two):
        child.expect("Red door")
        child.expect("stop")
        child.send("c")
        child.expect("Tin roof")
    one.send("u")
    one.expect("Your rating of it stays as it is")
    assert one.expect(["Press it again", pexpect.TIMEOUT], timeout=1) == 1
    for child in (one, two):
        child.send("q")
        ended(child)
    assert ratings(quick) == [3, 3]
