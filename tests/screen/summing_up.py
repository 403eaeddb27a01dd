"""Summaries made by hand: as many phrases, keys and states as a test asks for."""

from __future__ import annotations

from datetime import date, timedelta

from drillbox.memory.weakness import FINE, UNPLAYED
from drillbox.music.keys import MAJOR, Key
from drillbox.practice.progress import Changes, Stretch
from drillbox.practice.standing import (
    Cell,
    Level,
    Slipping,
    Standing,
    Waits,
    bottlenecks,
    present,
)
from drillbox.practice.summing import Advice, Scope, Summary

TODAY = date(2026, 3, 2)
QUIET = Changes(TODAY - timedelta(days=6), Stretch(0, 0, 0, 0), Stretch(0, 0, 0, 0), 0, 0)


WAITS: dict[Level, Waits] = {
    "owned": "", "sure": "memory", "unsure": "memory", "climbing": "both",
}  # fmt: skip


def cell(phrase: int, key: Key, *, level: Level = "sure", title: str | None = None) -> Cell:
    now = {"owned": 0.95, "sure": 0.9, "unsure": 0.7, "climbing": 0.4}[level]
    return Cell(
        phrase * 100 + key.tonic.pitch_class, phrase, title or f"Line {phrase}", key, key.number,
        MAJOR.index(key) if key in MAJOR else 0, 120, 90 if level == "climbing" else 120,
        now, level == "owned", level, WAITS[level], TODAY + timedelta(days=phrase % 9),
        TODAY - timedelta(days=2), 5,
    )  # fmt: skip


def standing(id_: int, name: str, verdict: str = FINE, tries: int = 20) -> Standing:
    share = None if not tries else 0.7
    return Standing(
        id_, name, verdict, tries, tries * 7 // 10, share, 0.6, 0.8, 12, 0, 0.9, 0.75, "both",
        TODAY + timedelta(days=id_ % 80),
    )  # fmt: skip


def made(
    *cells: Cell,
    advice: Advice | None = None,
    phrases: int = 0,
    slipping: tuple[Slipping, ...] = (),
    lenient: bool = False,
) -> Summary:
    """Return a summary of these cells; all keys and phrases stand alike."""
    keys = {each.key_id: each.key.text() for each in cells}
    titles = {each.phrase_id: each.title for each in cells}
    total = present(cells, phrases or len(titles), 12 * (phrases or len(titles)), TODAY)
    return Summary(
        today=TODAY,
        scope=Scope(),
        since=TODAY - timedelta(days=720),
        half_life=90.0,
        mean=0.7 if cells else None,
        keys=tuple(standing(id_, name) for id_, name in keys.items()),
        phrases=tuple(standing(id_, name) for id_, name in titles.items()),
        cards=(),
        cells=cells,
        present=total,
        changes=QUIET,
        waiting=bottlenecks(cells),
        slipping=slipping,
        outlook=None,
        advice=advice or Advice("all owned"),
        lenient=lenient,
    )


__all__ = ["FINE", "QUIET", "TODAY", "UNPLAYED", "cell", "made", "standing"]
