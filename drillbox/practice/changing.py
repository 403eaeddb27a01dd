"""Change a tune, a gig or a setting, or fit the memory model, and bring every card in line."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from datetime import date, datetime
from itertools import accumulate

from drillbox.memory.candidates import Candidate
from drillbox.memory.cards import counted_recall
from drillbox.memory.fitting import Fitting, Tried, fit
from drillbox.memory.rules import WEIGHTS
from drillbox.practice.preferences import preferences_from
from drillbox.practice.settings import Value, known_setting, read_setting
from drillbox.store import tune_rows
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from drillbox.store.log import logs_of
from drillbox.store.reckoning import reckon_all
from drillbox.store.setting_rows import Set, get_settings, set_setting
from drillbox.store.tune_rows import NewTune
from drillbox.store.values import GigRecord, TuneRecord
from drillbox.tick import Tick, silent

LADDER = frozenset({"start_tempo", "tempo_step", "slowest_tempo", "owned_days"})


def change_setting(
    store: Store, name: str, text: str | None, now: datetime, tick: Tick = silent
) -> Value:
    """Set a setting from what was typed, or put it back to its default (None); return its value.

    ``name`` is its present one. One that is put back follows its default, should that be another
    one day. After a change of instrument every card's line moves into the octave that fits the
    range, with its octave breaks chosen again where the phrase has them. After a change of the
    tempo ladder every card is recomputed from its attempts. ``tick`` hears of the phrases or
    cards that are done.
    """
    value = known_setting(name).default if text is None else read_setting(name, text)
    new = Set(name, None if text is None else value, now)
    if name == "instrument":
        from drillbox.store.laying import set_and_lay  # only where an instrument is set

        set_and_lay(store, new, preferences_from({name: value}).sounding_range, tick)
    elif name in LADDER:
        reckon_all(store, new, tick)
    else:
        set_setting(store, *new)
    return value


def change_tune(store: Store, record: TuneRecord, new: NewTune, now: datetime) -> None:
    """Store a tune in place of what it was, after a backup; see ``tune_rows.change_tune``."""
    store.keep_before("edit", now)
    tune_rows.change_tune(store, record, new, now)


def change_gig(
    store: Store,
    record: GigRecord,
    title: str,
    day: date,
    tunes: Sequence[TuneRecord],
    now: datetime,
) -> GigRecord:
    """Store a gig's name, day and tunes in place of what they were, after a backup, and return
    it; see ``tune_rows.change_gig``."""
    store.keep_before("edit", now)
    return tune_rows.change_gig(store, record, title, day, tunes, now)


# So many attempts on separate days tell 21 weights apart; more only fill the memory.
MOST = 20_000


def fit_weights(store: Store, now: datetime, begins: Callable[[], object]) -> Fitting:
    """Fit the weights to all attempts at phrases in practice; keep them where they are better.

    Of a player with very many it is some cards' attempts, drawn at random but always the same.
    ``begins`` is called where nothing is in the way of the fit. Raises BadInput with too few
    attempts and where the fitting library isn't there.
    """
    logs = {
        log.card_id: [
            Tried(each.day, counted_recall(each.recall, each.hint)) for each in log.attempts
        ]
        for log in logs_of(store, _cards_to_fit(candidates(store)))
    }
    found = fit(logs, begins)
    if found.weights is not None:
        reckon_all(store, Set(WEIGHTS, list(found.weights), now))
    return found


def _cards_to_fit(cards: Sequence[Candidate]) -> list[int]:
    """Return the cards whose attempts are fitted: all, up to ``MOST`` attempts on separate days."""
    played = [each for each in cards if each.last_day]
    random.Random(MOST).shuffle(played)
    sums = accumulate(each.clean + each.missed for each in played)
    return [each.card_id for each, upto in zip(played, sums, strict=True) if upto <= MOST]


def restore_default_weights(store: Store, now: datetime) -> bool:
    """Go back to the default weights; return whether others were in force."""
    fitted = WEIGHTS in get_settings(store)
    reckon_all(store, Set(WEIGHTS, None, now))
    return fitted
