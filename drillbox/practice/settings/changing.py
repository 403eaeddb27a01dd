"""Change one setting of the player."""

from __future__ import annotations

from datetime import datetime

from drillbox.practice.settings.offered import PREFERENCES, Value, read_setting
from drillbox.practice.settings.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.reckoning import reckon_all
from drillbox.store.setting_rows import Set, get_settings, set_setting
from drillbox.tick import Tick, silent

LADDER = frozenset({"start_tempo", "tempo_step", "slowest_tempo", "owned_days"})


def change_setting(
    store: Store, name: str, text: str | None, now: datetime, tick: Tick = silent
) -> Value:
    """Set a setting from what was typed, or put it back to its default; return its value.

    ``name`` is its present one. After a change of instrument every card's line moves into the
    octave that fits the range, with its octave breaks chosen again where the phrase has them.
    After a change of the tempo ladder every card is recomputed from its attempts. ``tick`` hears
    of the phrases or cards that are done.
    """
    if text is None:
        if name not in PREFERENCES:
            read_setting(name, "")
        value = PREFERENCES[name].default
    else:
        value = read_setting(name, text)
    if name == "instrument":
        _refit(store, Set(name, value, now), tick)
    elif name in LADDER:
        rules = preferences_from({**get_settings(store), name: value}).rules
        reckon_all(store, rules, Set(name, value, now), tick)
    else:
        set_setting(store, name, value, now)
    return value


def _refit(store: Store, instrument: Set, tick: Tick) -> None:
    from drillbox.music.moving.octave_breaks import line_laid  # only where an instrument is set
    from drillbox.store.line_rows import set_and_lay

    new = preferences_from(
        {**get_settings(store), instrument.name: instrument.value}
    ).sounding_range
    set_and_lay(
        store,
        instrument,
        lambda phrase, key, breaking: line_laid(phrase, key, new, breaking=breaking),
        tick,
    )
