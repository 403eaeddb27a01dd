"""What phrases and keys wait for, and which keys never stay, in sentences."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillbox.music.keys import parse_key
from drillbox.practice.standing import Slipping, Waiting
from drillbox.practice.summing import Scope
from drillbox.screen.look import Look
from drillbox.screen.waiting import slipping_lines, waiting_lines
from drillbox.store.opening import open_store
from tests.store.making import NOW, add

LOOK = Look()


def test_what_waits_for_what() -> None:
    """A line for each want; tempo only where it is one; the key under its printed name."""
    lines = waiting_lines(
        (
            Waiting("phrase", "Four lamps", "both", 8, 0.744),
            Waiting("phrase", "Late kettle", "memory", 1, 1.0),
            Waiting("key", "Gb", "both", 3, 0.7),
        ),
        LOOK,
    )
    assert lines == [
        "Waiting for memory: 'Late kettle' (1 key).",
        "Waiting for tempo and memory: 'Four lamps' (8 keys, at 74% of goal); G♭ (among"
        " the keys least clean at goal, 3 phrases, at 70% of goal).",
    ]


@pytest.mark.parametrize(
    ("title", "key", "said"),
    [
        ("", "", "Every key that you have started is owned."),
        ("", "Ebm", "Every phrase that you have started in E♭m is owned."),
        ("Late kettle", "", "Every key that you have started of 'Late kettle' is owned."),
        ("Late kettle", "Gb", "'Late kettle' in G♭ is owned."),
    ],
)
def test_where_nothing_waits_it_says_of_what(made: Path, title: str, key: str, said: str) -> None:
    """Of all, of a key or of a phrase: what else there is may well wait."""
    with open_store(made, now=NOW, backups=False) as store:
        (phrase,) = add(store, "Late kettle")
    scope = Scope(phrase if title else None, parse_key(key) if key else None)
    assert waiting_lines((), LOOK, scope) == [said]


def test_a_phrase_is_named_with_each_of_its_wants() -> None:
    """The three phrases with most left are, whatever they wait for; each count is of one want."""
    waiting = [
        Waiting("phrase", f"Line {number}", what, keys, share)
        for number in range(4)
        for what, keys, share in (("tempo", 2, 0.8), ("memory", 7, 1.0))
    ]
    tempo, memory = waiting_lines(tuple(waiting), LOOK)
    named = "; ".join(f"'Line {number}' (2 keys, at 80% of goal)" for number in range(3))
    assert tempo == f"Waiting for tempo: {named}; and 1 more phrase."
    assert memory.startswith("Waiting for memory: 'Line 0' (7 keys); 'Line 1' (7 keys); ")
    assert memory.endswith("; and 1 more phrase.")


def test_few_phrases_are_named_and_the_rest_counted() -> None:
    """The same three in all lines; of what only others want, the first."""
    waiting = [Waiting("phrase", f"Line {n}", "tempo", 9 - n, 0.5) for n in range(5)]
    waiting += [Waiting("phrase", f"Last {n}", "memory", 3 - n, 1.0) for n in range(2)]
    waiting.append(Waiting("key", "B", "memory", 2, 1.0))
    tempo, memory = waiting_lines(tuple(waiting), LOOK)
    assert tempo.endswith("'Line 2' (7 keys, at 50% of goal); and 2 more phrases.")
    assert memory == (
        "Waiting for memory: 'Last 0' (3 keys); and 1 more phrase; B (among the keys least clean at"
        " goal, 2 phrases)."
    )


def test_what_never_stays_is_named_and_what_helps() -> None:
    """Three at most, the days of each; nothing where all stays."""
    one = Slipping("Four lamps", "Gb", 1, 12)
    assert slipping_lines((one,), LOOK) == [
        "Hardly ever clean, so other keys come first: 'Four lamps' in G♭ (1 of 13 days)."
        " Take such a key apart with its hints, or put it aside for a while: 'drillbox edit"
        " PHRASE --aside KEY'."
    ]
    five = (one, *(Slipping(f"Line {number}", "E", 0, 9 - number) for number in range(4)))
    (line,) = slipping_lines(five, LOOK)
    assert (
        "(1 of 13 days); 'Line 0' in E (0 of 9 days); 'Line 1' in E (0 of 8 days); and 2 more."
        in line
    )
    assert slipping_lines((), LOOK) == []
