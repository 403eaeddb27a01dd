"""Every number that decides what is drilled, with its default, its bounds and its reason."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, fields
from typing import Any, NamedTuple

from drillbox.errors import BadInput
from drillbox.memory.recall import Weights, weights_from


@dataclass(frozen=True, slots=True)
class TempoRules:
    """The ladder's numbers. They are conventions of practice, not facts: all are settings."""

    start_tempo: float = 0.6
    tempo_step: float = 0.05
    slowest_tempo: int = 40


@dataclass(frozen=True, slots=True)
class Rules:
    """The numbers in force; ``SETTINGS`` says what each means and why it is what it is.

    ``weights`` are 21 FSRS-6 weights fitted to the player, or None for the defaults.
    """

    recall_target: float = 0.9
    spread: float = 0.1
    minutes: int = 20
    goes: int = 1
    repeat_newest: int = 1
    owned_days: int = 28
    day_start_hour: int = 5
    loops: int = 2
    between_goes: int = 10
    tempo: TempoRules = field(default_factory=TempoRules)
    weights: Weights | None = None


class Setting(NamedTuple):
    """One number that a player may set, with its bounds (both allowed) and its reason."""

    name: str
    default: float
    low: float
    high: float
    reason: str

    @property
    def whole(self) -> bool:
        """Return whether the setting takes whole numbers only."""
        return isinstance(self.default, int)

    def read(self, text: str) -> float:
        """Read a value that a player typed; raise BadInput where it can't be used."""
        try:
            value = int(text) if self.whole else float(text)
        except ValueError:
            raise self._refusal(text) from None
        return self.check(value, text)

    def check(self, value: float, typed: str = "") -> float:
        """Return the value where it lies within the bounds; raise BadInput where it doesn't.

        That names what was ``typed``, where the value was.
        """
        if not self.low <= value <= self.high:
            raise self._refusal(typed or f"{value:g}")
        return int(value) if self.whole else float(value)

    def _refusal(self, text: str) -> BadInput:
        kind = "whole number" if self.whole else "number"
        return BadInput(
            f"{text[:40]!r} can't be set as {self.name}",
            f"Use a {kind} from {self.low:g} to {self.high:g}; the default is {self.default:g}.",
        )


_REASONS: dict[str, tuple[float, float, str]] = {
    "recall_target": (
        0.7,
        0.97,
        "how likely you should still have a key on the day it's due; higher takes more time",
    ),
    "spread": (
        0.0,
        0.25,
        "how far a due day may move to even out your days, as a share of the wait",
    ),
    "minutes": (1, 240, "minutes of a drill session, and of practice a day"),
    "goes": (
        1,
        12,
        "goes in a row at most, until one comes out clean",
    ),
    "repeat_newest": (0, 1, "1: the day's newest key comes once more at the end; 0: it doesn't"),
    "owned_days": (
        1,
        365,
        "days that a key must last at goal tempo before you own it: still there four weeks later",
    ),
    "day_start_hour": (
        0,
        23,
        "hour at which your practice day begins; a late gig still counts for the day before",
    ),
    "loops": (0, 16, "times around the chart in a go; 0: until you press something"),
    "between_goes": (
        0,
        120,
        "seconds from one go to the next, for planning: reading, count-in, rating",
    ),
    "start_tempo": (
        0.2,
        1.0,
        "where a new key starts, as a share of its goal tempo; a rule of thumb",
    ),
    "tempo_step": (
        0.01,
        0.25,
        "how much a step changes the tempo, as a share of the goal; you feel 5%, hardly 2%",
    ),
    "slowest_tempo": (
        20,
        200,
        "the slowest tempo, in quarter notes a minute (a slower goal stays)",
    ),
}


def _defaults() -> dict[str, Any]:
    rules = Rules()
    values = {each.name: getattr(rules, each.name) for each in fields(Rules)}
    del values["tempo"], values["weights"]
    return values | {each.name: getattr(rules.tempo, each.name) for each in fields(TempoRules)}


WEIGHTS = "weights"  # the one setting that isn't typed: a fit sets it

SETTINGS: tuple[Setting, ...] = tuple(
    Setting(name, default, *_REASONS[name]) for name, default in _defaults().items()
)


def as_typed(value: object, default: float | str) -> str:
    """Return a setting's value, as a store or a document holds it, as it would be typed.

    Raises ValueError where it is neither a number nor a text.
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise ValueError(f"{value!r:.40} is neither a number nor a text")
    if isinstance(value, float) and value.is_integer() and isinstance(default, int):
        value = int(value)
    return str(value)


def setting_in_force(name: str, stored: object) -> float:
    """Return a stored setting where it passes the check of a typed one, else its default."""
    setting = next(each for each in SETTINGS if each.name == name)
    if stored is None:
        return setting.default
    try:
        return setting.read(as_typed(stored, setting.default))
    except (BadInput, ValueError):
        return setting.default


def rules_of(stored: Mapping[str, object]) -> Rules:
    """Return the rules that stored settings lead to, each at its default where it can't be used."""
    weights = None
    with suppress(ValueError):
        weights = weights_from(stored[WEIGHTS]) if WEIGHTS in stored else None
    values = {each.name: setting_in_force(each.name, stored.get(each.name)) for each in SETTINGS}
    return rules_from(values, weights)


def rules_from(values: Mapping[str, float], weights: Weights | None = None) -> Rules:
    """Return the rules with these settings changed and all else at its default.

    Raises BadInput for a name that isn't a setting and for a value out of its bounds.
    """
    known = {each.name: each for each in SETTINGS}
    for name in values:
        if name not in known:
            raise BadInput(f"There is no setting {name!r}", f"There are: {', '.join(known)}.")
    checked: dict[str, Any] = {name: known[name].check(value) for name, value in values.items()}
    ladder = {each.name for each in fields(TempoRules)}
    tempo = TempoRules(**{name: checked.pop(name) for name in list(checked) if name in ladder})
    return Rules(**checked, tempo=tempo, weights=weights)
