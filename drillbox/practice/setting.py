"""Change one setting of the player."""

from __future__ import annotations

from drillbox.practice.preferences import PREFERENCES, Value, read_setting
from drillbox.store.opening import Store
from drillbox.store.settings import set_setting


def change_setting(store: Store, name: str, text: str | None) -> Value:
    """Set a setting from what was typed, or put it back to its default; return its value."""
    if text is None:
        if name not in PREFERENCES:
            read_setting(name, "")
        value = PREFERENCES[name].default
    else:
        value = read_setting(name, text)
    set_setting(store, name, value)
    return value
