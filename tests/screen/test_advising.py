"""The sentences of a summary: each state of a player has one that says what to do."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from drillbox.memory.forecasting import Range
from drillbox.music.keys import MAJOR, parse_key
from drillbox.practice.coming import Outlook, Whole
from drillbox.practice.progress import Changes, Named, Stretch
from drillbox.practice.readiness import PiledUp
from drillbox.practice.summing import Advice, Kind, Scope
from drillbox.screen.advising import GUESSED, advice_line, change_lines, outlook_lines
from drillbox.screen.look import Look
from tests.screen.summing_up import QUIET, TODAY, cell, made

LOOK = Look()


def said(kind: Kind, **changed: object) -> str:
    values: dict[str, object] = {
        "title": "Four lamps", "key": parse_key("Gb"), "tempo": 104, "now": 0.42, "at": 0.71,
    }  # fmt: skip
    advice = Advice(kind, **{**values, **changed})  # type: ignore[arg-type]  # by name
    return advice_line(advice, 0.8, LOOK)


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("add", "Next: bring a phrase in with 'drillbox add'."),
        ("start", "Next: play a first session with 'drillbox drill'."),
        ("keep", "Next: 'drillbox drill'. It starts with 'Four lamps' in G♭ at 104, to keep it:"
                 " 42% clean at goal now."),
        ("climb", "Next: 'drillbox drill'. It starts with 'Four lamps' in G♭ at 104, on the way to"
                  " its goal: 71% clean at that tempo, 42% at goal now."),
        ("new key", "Next: 'drillbox drill'. It starts with a new key, 'Four lamps' in G♭ at 104."),
    ],
)  # fmt: skip
def test_each_kind_has_its_sentence(kind: Kind, words: str) -> None:
    """It names the thing to do, and why."""
    assert said(kind) == words


def test_weakness_is_told_against_the_mean() -> None:
    """The key's share beside the player's own."""
    assert "G♭ is a weak key of yours (52% recalled against your 80%)" in said(
        "weak key", share=0.52
    )
    assert "the phrase is weak (52% recalled against your 80%)" in said("weak phrase", share=0.52)


def test_what_has_piled_up_is_told() -> None:
    """How many keys, and how many minutes."""
    assert said("catch up", piled_up=PiledUp(40, 31.6)).startswith(
        "Next: 'drillbox drill'. 40 keys at goal tempo are due, 32 min: more than your daily"
        " minutes. It starts with 'Four lamps'"
    )
    assert "1 key at goal tempo is due" in said("catch up", piled_up=PiledUp(1, 21))


def test_nothing_in_the_way() -> None:
    """It says so, and what to do then."""
    assert said("all owned").startswith("Nothing stands in the way: you own every key")


def test_what_the_days_bring() -> None:
    """Ranges where the runs differ, beside what stands now; phrases with their days; and the
    way to it where it wasn't played through."""
    day = TODAY + timedelta(days=27)
    whole = (Whole("Four lamps", TODAY + timedelta(days=18), day),)
    found = Outlook(
        28, day, 20, Range(1, 1, 1), Range(1, 0, 1), Range(0.6, 0, 1), whole, False
    )  # fmt: skip
    summary = replace(made(cell(1, MAJOR[0])), outlook=found)
    assert outlook_lines(summary, LOOK) == [
        "By 29 Mar, at 20 minutes a day: about 1 key started (1 now), 0 to 1 at goal tempo"
        " (1 now), 0 to 1 owned (0 now).",
        "Owned in all keys: 'Four lamps' by about 20 Mar to 29 Mar.",
    ]
    narrowed = replace(summary, scope=Scope(key=MAJOR[0]))
    assert outlook_lines(narrowed, LOOK)[0].startswith(
        "By 29 Mar, at 20 minutes a day, over all phrases: about 1 key started, 0 to 1 at goal"
    )
    short = replace(summary, outlook=replace(found, minutes=1))
    assert outlook_lines(short, LOOK)[0].startswith("By 29 Mar, at 1 minute a day: ")
    guessed = replace(summary, outlook=replace(found, guessed=True))
    assert outlook_lines(guessed, LOOK)[:1] == [GUESSED]
    (line,) = outlook_lines(replace(summary, outlook=None), LOOK)
    assert "'drillbox upcoming'" in line


def changed(**other: object) -> Changes:
    values: dict[str, object] = {
        "since": TODAY - timedelta(days=6), "now": Stretch(20, 12.4, 10, 7),
        "before": Stretch(10, 5.0, 10, 5), "started": 1, "owned": 0,
    }  # fmt: skip
    return Changes(**{**values, **other})  # type: ignore[arg-type]  # by name


def test_a_week_against_the_week_before() -> None:
    """Counts, minutes, shares, keys."""
    assert change_lines(changed(), TODAY, LOOK) == [
        "In the last 7 days: 20 goes in 12 min; 70% of first goes clean or fluent"
        " (50% in as many"
        " days before); 1 new key started, 0 newly owned."
    ]


def test_verdicts_that_turned_are_named() -> None:
    """Keys as this screen can show them, phrases in quotes."""
    lines = change_lines(
        changed(weaker=(Named("key", "Gb"),), better=(Named("phrase", "Four lamps"),)), TODAY, LOOK
    )
    assert lines[1:] == ["Weak now, and not a week ago: G♭.", "No longer weak: 'Four lamps'."]


def test_the_edges_of_change() -> None:
    """Nothing played; nothing before to compare with; another day than a week ago."""
    assert change_lines(QUIET, TODAY, LOOK) == ["In the last 7 days nothing was played."]
    alone = changed(before=Stretch(0, 0, 0, 0))
    assert "days before" not in change_lines(alone, TODAY, LOOK)[0]
    long_ago = changed(since=TODAY - timedelta(days=30))
    assert change_lines(long_ago, TODAY, LOOK)[0].startswith("Since 2026-01-31: 20 goes")
