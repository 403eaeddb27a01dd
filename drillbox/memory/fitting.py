"""Weights of the memory model fitted to one player, kept only where they predict better."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from itertools import groupby, pairwise
from math import isfinite, log
from operator import attrgetter
from typing import NamedTuple

from drillbox.errors import BadInput
from drillbox.memory.recall import (
    HIGHEST_WEIGHTS,
    LOWEST_WEIGHTS,
    MemoryState,
    Recall,
    Weights,
    after,
    retrievability,
)
from drillbox.output import counted

FEWEST = 400  # with fewer the fitted weights tell the days' luck, not the player
LATEST_SHARE = 0.2  # the weights are judged by the latest fifth, which they haven't seen


class Tried(NamedTuple):
    """One attempt for fitting: its practice day and what it counted for."""

    day: date
    recall: Recall


class Fitting(NamedTuple):
    """What came of a fit.

    ``loss`` and ``default_loss`` are mean log losses in nats on the ``judged`` latest attempts,
    with the fitted and the default weights; ``weights`` is None where the fitted ones weren't
    better. ``attempts`` counts those on separate days, the judged ones included.
    """

    weights: Weights | None
    loss: float
    default_loss: float
    attempts: int
    judged: int


def fit(
    logs: Mapping[int, Sequence[Tried]], begins: Callable[[], object] = lambda: None
) -> Fitting:
    """Fit the weights to the logs of all cards, each in the order of its attempts.

    Of a day only a card's first attempt is looked at, as it alone moves memory; it counts where an
    earlier day of the card can predict it. By fsrs-rs-python, over all but the latest fifth in
    time. ``begins`` is called where nothing is in the way and the work begins. Raises BadInput with
    fewer than ``FEWEST`` attempts, and where the library isn't installed or finds no weights.
    """
    logs = {card: _cold(attempts) for card, attempts in logs.items()}
    days = sorted(tried.day for cold in logs.values() for tried in _predictable(cold))
    if len(days) < FEWEST:
        raise BadInput(
            f"{counted(len(days), 'go')} on separate days: too few to fit the memory model",
            f"It takes {FEWEST}; until then the default weights are the better guess.",
        )
    _look_for_library()
    begins()
    since = days[int(len(days) * (1 - LATEST_SHARE))]
    weights = _weights(logs, since)
    loss, default_loss = log_loss(logs, since, weights), log_loss(logs, since, None)
    judged = sum(day >= since for day in days)
    better = loss < default_loss
    return Fitting(weights if better else None, loss, default_loss, len(days), judged)


def log_loss(logs: Mapping[int, Sequence[Tried]], since: date, weights: Weights | None) -> float:
    """Return the mean log loss in nats of predicted recall over attempts from ``since`` on, one a
    day at each card."""
    total, count = 0.0, 0
    for attempts in logs.values():
        state: MemoryState | None = None
        for tried in attempts:
            if state and tried.day > state.last_day and tried.day >= since:
                chance = min(1 - 1e-6, max(1e-6, retrievability(state, tried.day, weights)))
                total -= log(chance if tried.recall > Recall.LOST else 1 - chance)
                count += 1
            state = after(state, tried.recall, tried.day, weights)
    return total / count if count else 0.0


def _cold(attempts: Iterable[Tried]) -> list[Tried]:
    """Return a card's first attempt of each day."""
    return [next(goes) for _, goes in groupby(attempts, key=attrgetter("day"))]


def _predictable(cold: Iterable[Tried]) -> list[Tried]:
    """Return the attempts that an earlier day of the card can predict: not those that a clock
    set back put before it."""
    return [tried for before, tried in pairwise(cold) if tried.day > before.day]


def _look_for_library() -> None:
    """Raise BadInput where the fitting library isn't installed."""
    try:
        import fsrs_rs_python  # noqa: F401 - an extra; looked for here to be missed by name
    except ImportError:
        raise BadInput(
            "Fitting needs the package fsrs-rs-python, which isn't installed",
            "In your copy of drillbox: pip install '.[fit]'. Where your Python has no wheel of it,"
            " the default weights stay.",
        ) from None


def _weights(logs: Mapping[int, Sequence[Tried]], until: date) -> Weights:
    """Return the weights fitted to all attempts before a day."""
    from fsrs_rs_python import DEFAULT_PARAMETERS, FSRS, FSRSItem, FSRSReview

    items = []
    for attempts in logs.values():
        reviews, last = [], None
        for tried in attempts:
            if tried.day >= until:  # later ones may lie before it: a clock was ahead
                continue
            gap = max(0, (tried.day - last).days) if last else 0
            reviews.append(FSRSReview(int(tried.recall), gap))
            if gap:
                items.append(FSRSItem(list(reviews)))
            last = tried.day
    found = FSRS(list(DEFAULT_PARAMETERS)).compute_parameters(items)
    return _checked(tuple(float(each) for each in found))


def _checked(weights: Weights) -> Weights:
    """Return weights that the memory library takes; raise BadInput for others."""
    if not all(isfinite(each) for each in weights):
        raise BadInput("No weights fit these goes", "The default weights stay in use.")
    bounds = zip(weights, LOWEST_WEIGHTS, HIGHEST_WEIGHTS, strict=True)
    return tuple(min(high, max(low, each)) for each, low, high in bounds)
