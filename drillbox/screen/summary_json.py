"""The summary as JSON for other programs; ``summary.schema.json`` beside this file describes it.

``VERSION`` goes up when a name is taken away or changes its meaning; new names may come with
any release.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from drillbox.memory.weakness import LEVEL
from drillbox.practice.ahead.coming import Outlook
from drillbox.practice.summary.advice import Advice, Waiting
from drillbox.practice.summary.cells import Cell, Present
from drillbox.practice.summary.changes import Changes, Named, Stretch
from drillbox.practice.summary.standing import Standing
from drillbox.practice.summary.summing import Summary
from drillbox.screen.advising import advice_line
from drillbox.screen.look import Look

FORMAT = "drillbox-summary"
VERSION = 2
_DIGITS = 4  # of a share: more than the estimate is good for


def summary_document(summary: Summary) -> dict[str, Any]:
    """Return the summary as values that JSON can hold; shares lie between 0 and 1."""
    scope = summary.scope
    return {
        "format": FORMAT,
        "version": VERSION,
        "today": summary.today.isoformat(),
        "since": summary.since.isoformat(),
        "scope": {
            "phrase": scope.phrase.title if scope.phrase else None,
            "key": scope.key.text() if scope.key else None,
        },
        "half_life_days": summary.half_life,
        "interval_level": LEVEL,
        "mean": _rounded(summary.mean),
        "keys": [_standing(each) for each in summary.keys],
        "phrases": [_standing(each) for each in summary.phrases],
        "cards": [_card(each) for each in summary.cells],
        "present": _present(summary.present),
        "changes": _changes(summary.changes),
        "waiting": [_waiting(each) for each in summary.waiting],
        "outlook": _outlook(summary.outlook),
        "advice": _advice(summary.advice, summary),
    }


def _rounded(share: float | None) -> float | None:
    return None if share is None else round(share, _DIGITS)


def _standing(each: Standing) -> dict[str, Any]:
    return {
        "id": each.id,
        "name": each.name,
        "verdict": each.verdict,
        "tries": each.tries,
        "recalled": each.recalled,
        "share": _rounded(each.share),
        "low": _rounded(each.low),
        "high": _rounded(each.high),
        "cards": each.cards,
        "owned": each.owned,
        "now": _rounded(each.now),
        "waits_for": each.waits or None,
        "tempo_share": _rounded(each.tempo),
        "due": each.due.isoformat(),
    }


def _card(cell: Cell) -> dict[str, Any]:
    return {
        "phrase": cell.phrase_id,
        "title": cell.title,
        "key": cell.key.text(),
        "tempo": cell.tempo,
        "goal": cell.goal,
        "attempts": cell.attempts,
        "now": _rounded(cell.now),
        "level": cell.level,
        "waits_for": cell.waits or None,
        "owned": cell.owned,
        "due": cell.due.isoformat(),
    }


def _present(present: Present) -> dict[str, Any]:
    return {
        "phrases": present.phrases,
        "cards": present.cards,
        "started": present.started,
        "at_goal": present.at_goal,
        "unsure": present.unsure,
        "owned": present.owned,
        "now": _rounded(present.now) if present.started else None,
        "tempo_share": _rounded(present.tempo) if present.started else None,
        "due": present.due,
    }


def _changes(changes: Changes) -> dict[str, Any]:
    return {
        "since": changes.since.isoformat(),
        "now": _stretch(changes.now),
        "before": _stretch(changes.before),
        "started": changes.started,
        "came_to_be_owned": changes.owned,
        "now_weak": _named(changes.weaker),
        "no_longer_weak": _named(changes.better),
    }


def _stretch(stretch: Stretch) -> dict[str, Any]:
    return {
        "attempts": stretch.attempts,
        "minutes": round(stretch.minutes, 1),
        "tries": stretch.tries,
        "recalled": stretch.recalled,
    }


def _named(named: Sequence[Named]) -> list[dict[str, str]]:
    return [{"kind": each.kind, "name": each.name} for each in named]


def _waiting(each: Waiting) -> dict[str, Any]:
    return {
        "kind": each.kind,
        "name": each.name,
        "waits_for": each.what,
        "keys": each.keys,
        "tempo_share": _rounded(each.tempo),
    }


def _outlook(outlook: Outlook | None) -> dict[str, Any] | None:
    if outlook is None:
        return None
    figures = {"started": outlook.started, "at_goal": outlook.at_goal, "owned": outlook.owned}
    return {
        "day": outlook.day.isoformat(),
        "minutes_a_day": outlook.minutes,
        **{name: {"low": each.low, "high": each.high} for name, each in figures.items()},
        "owned_in_all_keys": [
            {
                "title": each.title,
                "earliest": each.earliest.isoformat(),
                "latest": each.latest.isoformat() if each.latest else None,
            }
            for each in outlook.whole
        ],
    }


def _advice(advice: Advice, summary: Summary) -> dict[str, Any]:
    return {
        "kind": advice.kind,
        "text": advice_line(advice, summary.mean, Look(ascii=True, plain=True)),
        "title": advice.title,
        "key": advice.key.text() if advice.key else None,
        "tempo": advice.tempo,
        "now": _rounded(advice.now),
    }
