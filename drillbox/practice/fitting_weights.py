"""Fit the memory model to the player, and bring every card in line with it."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import datetime
from itertools import accumulate

from drillbox.memory.candidates import Candidate
from drillbox.memory.cards import counted
from drillbox.memory.fitting import Fitting, Tried, fit
from drillbox.practice.settings.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from drillbox.store.reckoning import reckon_all
from drillbox.store.setting_rows import Set, get_settings
from drillbox.store.weeks import logs_of

# So many attempts on separate days tell 21 weights apart; more only fill the memory.
MOST = 20_000


def fit_weights(store: Store, now: datetime) -> Fitting:
    """Fit the weights to all attempts at phrases in practice; keep them where they are better.

    Of a player with very many it is some cards' attempts, drawn at random but always the same.
    Raises BadInput with too few attempts and where the fitting library isn't there.
    """
    logs = {
        log.card_id: [Tried(each.day, counted(each.recall, each.hint)) for each in log.attempts]
        for log in logs_of(store, _drawn(candidates(store)))
    }
    found = fit(logs)
    if found.weights is not None:
        _put(store, list(found.weights), now)
    return found


def _drawn(cards: Sequence[Candidate]) -> list[int]:
    """Return the cards whose attempts are fitted: all, up to ``MOST`` attempts on separate days."""
    played = [each for each in cards if each.last_day]
    random.Random(MOST).shuffle(played)
    sums = accumulate(each.clean + each.missed for each in played)
    return [each.card_id for each, upto in zip(played, sums, strict=True) if upto <= MOST]


def restore_defaults(store: Store, now: datetime) -> bool:
    """Go back to the default weights; return whether others were in force."""
    fitted = "weights" in get_settings(store)
    _put(store, None, now)
    return fitted


def _put(store: Store, weights: list[float] | None, now: datetime) -> None:
    settings = {**get_settings(store), "weights": weights}
    if weights is None:
        del settings["weights"]
    reckon_all(store, preferences_from(settings).rules, Set("weights", weights, now))
