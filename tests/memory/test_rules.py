"""Every number is a setting with bounds and a reason, and comes back as it was set."""

from __future__ import annotations

from dataclasses import fields

import pytest

from drillbox.errors import BadInput
from drillbox.memory.rules import (
    SETTINGS,
    Rules,
    TempoRules,
    rules_from,
    rules_of,
    setting_in_force,
)
from drillbox.practice.preferences import preferences_from

KNOWN = {each.name: each for each in SETTINGS}


def test_each_number_is_a_setting():
    """No number of the rules stands outside the settings, and none has no reason."""
    numbers = {each.name for each in fields(Rules)} | {each.name for each in fields(TempoRules)}
    assert set(KNOWN) == numbers - {"tempo", "weights"}
    assert all(len(each.reason) > 20 for each in SETTINGS)


def test_defaults_lie_within_their_bounds_and_make_the_default_rules():
    """Setting nothing gives the defaults, and so does setting each to its default."""
    assert rules_from({}) == Rules()
    assert rules_from({each.name: each.default for each in SETTINGS}) == Rules()


def test_settings_come_back():
    """What was set is in the rules, ladder included."""
    weights = (1.0,) * 21
    rules = rules_from({"recall_target": 0.85, "tempo_step": 0.1, "slowest_tempo": 50}, weights)
    assert (rules.recall_target, rules.tempo.tempo_step, rules.tempo.slowest_tempo) == (
        0.85,
        0.1,
        50,
    )
    assert rules.weights == weights


@pytest.mark.parametrize("name", list(KNOWN))
def test_bounds(name):
    """Each bound itself is allowed, a value beyond it is refused with the bounds."""
    setting = KNOWN[name]
    assert rules_from({name: setting.low}) is not None
    assert rules_from({name: setting.high}) is not None
    for value in (setting.low - 1, setting.high + 1, float("nan")):
        with pytest.raises(BadInput) as caught:
            rules_from({name: value})
        assert f"{setting.low:g} to {setting.high:g}" in caught.value.remedy


def test_typed_values():
    """A whole number stays one, a share may be typed as players do, other text is refused."""
    assert KNOWN["goes"].read("5") == 5
    assert isinstance(KNOWN["goes"].read("5"), int)
    assert KNOWN["recall_target"].read("0.85") == 0.85
    for name, text in (
        ("goes", "2.5"),
        ("goes", "many"),
        ("recall_target", ""),
        ("recall_target", "nan"),
    ):
        with pytest.raises(BadInput):
            KNOWN[name].read(text)


@pytest.mark.parametrize(
    ("stored", "minutes", "hour"),
    [({}, 20, 5), ({"minutes": 30.0, "day_start_hour": 3.0}, 30, 3),
     ({"minutes": "45", "day_start_hour": "4"}, 45, 4),
     ({"minutes": 2.5, "day_start_hour": True}, 20, 5)],
)  # fmt: skip
def test_a_stored_setting_means_the_same_wherever_it_is_read(stored: dict, minutes, hour):
    """A document's 30.0 is 30; what can't be used is the default, for the store as for practice."""
    mine = preferences_from(stored)
    assert rules_of(stored) == mine.rules
    assert mine.rules.minutes == minutes
    assert setting_in_force("day_start_hour", stored.get("day_start_hour")) == hour


def test_unknown_setting():
    """A name that isn't a setting is refused, and the names there are are told."""
    with pytest.raises(BadInput) as caught:
        rules_from({"retenshun": 0.9})
    assert "recall_target" in caught.value.remedy


@pytest.mark.parametrize(("name", "least"), [("day_start_hour", 0), ("loops", 0), ("goes", 1)])
def test_the_least_that_may_be_set_is_taken_and_no_less(name: str, least: int):
    """A day may begin at midnight, a go may have no end; worked by what each number means."""
    assert getattr(rules_from({name: least}), name) == least
    with pytest.raises(BadInput):
        rules_from({name: least - 1})
