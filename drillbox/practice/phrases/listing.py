"""Phrases for a list: found by words, by tag, and in an order of the player's choice."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from statistics import fmean

from drillbox.errors import BadInput, NotFound
from drillbox.music.tags import has_tag
from drillbox.music.titles import folded
from drillbox.practice.ahead.readiness import started_at_goal
from drillbox.practice.settings.preferences import Preferences
from drillbox.store.access import Store
from drillbox.store.values import PhraseOverview

SORTS = ("title", "weakest", "tempo", "due")


def matching(
    listed: Sequence[PhraseOverview], words: Sequence[str], tag: str | None
) -> list[PhraseOverview]:
    """Return the phrases in whose title or tags every word occurs, of a tag where one is given."""
    found = list(listed) if tag is None else tagged(listed, tag)
    wanted = [folded(each) for each in words]
    return [
        each
        for each in found
        if all(word in folded(" ".join((each.title, *each.tags))) for word in wanted)
    ]


def tagged(listed: Sequence[PhraseOverview], tag: str) -> list[PhraseOverview]:
    """Return the phrases that have a tag; raise NotFound, naming the tags, where none has."""
    found = [each for each in listed if has_tag(each.tags, tag)]
    if not found:
        known = sorted({each for phrase in listed for each in phrase.tags})
        adding = "Add one: drillbox edit PHRASE --tag TAG"
        remedy = f"Your tags are {', '.join(known)}." if known else adding
        raise NotFound(f"No phrase has the tag {tag[:40]!r}", remedy)
    return found


def in_order(
    store: Store,
    preferences: Preferences,
    listed: Sequence[PhraseOverview],
    sort: str | None,
    day: date,
) -> list[PhraseOverview]:
    """Return phrases in an order; those that weren't begun come last where it is theirs.

    ``title``: by the alphabet; ``weakest``: by the mean chance of a clean first go at goal
    tempo in their started keys; ``tempo``: by the share of the goal that these have reached;
    ``due``: the earliest first; None: as they were added. Raises BadInput for another order.
    """
    if sort is None:
        return list(listed)
    if sort not in SORTS:
        raise BadInput(f"{sort[:20]!r} isn't an order", f"Sort by {', '.join(SORTS)}.")
    return sorted(listed, key=_order(store, preferences, sort, day))


def _order(
    store: Store, preferences: Preferences, sort: str, day: date
) -> Callable[[PhraseOverview], tuple[float, str]]:
    if sort == "title":
        return lambda each: (0.0, folded(each.title))
    if sort == "due":
        return lambda each: ((each.next_due or date.max).toordinal(), folded(each.title))
    if sort == "tempo":
        return lambda each: (
            float(each.reached) / each.tempo if each.reached else 2.0,
            folded(each.title),
        )
    clean = _clean(store, preferences, day)
    return lambda each: (clean.get(each.id, 2.0), folded(each.title))


def _clean(store: Store, preferences: Preferences, day: date) -> dict[int, float]:
    """Return the mean chance of each phrase's started keys to come out clean at goal tempo."""
    found: dict[int, list[float]] = {}
    for card, chance in started_at_goal(store, preferences.rules, day):
        found.setdefault(card.phrase_id, []).append(chance)
    return {number: fmean(each) for number, each in found.items()}
