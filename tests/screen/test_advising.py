"""The sentences of a summary: each state of a player has one that says what to do."""

from __future__ import annotations

from datetime import timedelta

import pytest

from drillbox.music.keys import parse_key
from drillbox.practice.advice import Advice, Kind
from drillbox.practice.changes import Changes, Named, Stretch
from drillbox.screen.advising import advice_line, change_lines
from drillbox.screen.look import Look
from tests.screen.summing_up import QUIET, TODAY

LOOK = Look()


def said(kind: Kind, **changed: object) -> str:
    values: dict[str, object] = {
        "title": "Four lamps", "key": parse_key("Gb"), "tempo": 104, "due": TODAY, "cards": 9,
        "minutes": 5.6,
    }  # fmt: skip
    advice = Advice(kind, **{**values, **changed})  # type: ignore[arg-type]  # by name
    return advice_line(advice, 0.8, TODAY, LOOK)


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("add", "Next: bring a phrase in with 'drillbox add'."),
        ("start", "Next: play a first session with 'drillbox drill'."),
        ("due", "Next: 'Four lamps' in G♭ at 104, the most faded that is due. 9 cards due, 6 min:"
                " 'drillbox drill'."),
        ("backlog", "Next: 'drillbox drill'. 9 cards due, 6 min, more than a day's practice; what"
                    " has faded most is 'Four lamps' in G♭ at 104."),
        ("open", "Next: a new key. Nothing is due, and 'Four lamps' in G♭ at 104 is ready to open:"
                 " 'drillbox drill'."),
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
    assert "9 cards due" in said("weak key", share=0.52)


def test_rest_says_until_when() -> None:
    """Tomorrow, or for some days."""
    assert "Nothing is due until tomorrow;" in said("wait", due=TODAY + timedelta(days=1))
    assert "Nothing is due for 4 days;" in said("wait", due=TODAY + timedelta(days=4))


def test_one_card_is_no_plural() -> None:
    """And less than half a minute is a minute."""
    assert "1 card due, 1 min" in said("due", cards=1, minutes=0.2)


def changed(**other: object) -> Changes:
    values: dict[str, object] = {
        "since": TODAY - timedelta(days=6), "now": Stretch(20, 12.4, 10, 7),
        "before": Stretch(10, 5.0, 10, 5), "opened": 1, "owned": 0,
    }  # fmt: skip
    return Changes(**{**values, **other})  # type: ignore[arg-type]  # by name


def test_a_week_against_the_week_before() -> None:
    """Counts, minutes, shares, keys."""
    assert change_lines(changed(), TODAY, LOOK) == [
        "In the last 7 days: 20 attempts in 12 min; 70% of first tries clean or fluent"
        " (50% in as many"
        " days before); 1 new key opened, 0 came to be owned."
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
    assert change_lines(long_ago, TODAY, LOOK)[0].startswith("Since 2026-01-31: 20 attempts")
