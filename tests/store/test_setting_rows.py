"""Settings: whatever JSON holds, by name, until put back."""

from __future__ import annotations

import pytest

from drillbox.store.access import Store
from drillbox.store.setting_rows import get_settings, set_setting


@pytest.mark.parametrize("value", [30, 0.9, "Europe/Lisbon", False, [1.5, 2], {"a": None}, "♭"])
def test_a_setting_comes_back_as_it_was_set(store: Store, value: object) -> None:
    """Numbers stay numbers and text stays text; the last value counts; None puts it back."""
    set_setting(store, "one", 1)
    set_setting(store, "one", value)
    set_setting(store, "two", 2)
    assert get_settings(store) == {"one": value, "two": 2}
    set_setting(store, "one", None)
    assert get_settings(store) == {"two": 2}
