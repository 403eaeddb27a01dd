"""The player's own settings: each with its default, what it may be, and why."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal, cast
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from drillbox.errors import BadInput
from drillbox.memory.recall import Weights, weights_from
from drillbox.memory.rules import SETTINGS, Rules, rules_from
from drillbox.music.keys import ORDERS, Key, Mode, Spelling, conventional, parse_key
from drillbox.store.retention import ROOM, ROOM_SETTING, read_room

if TYPE_CHECKING:
    from drillbox.music.moving.instruments import Instrument
    from drillbox.music.moving.transposition import Range
    from drillbox.music.pulse import CountedBeats
    from drillbox.music.turnarounds import Style
    from drillbox.sound.swing import Swing

PEDALS = ("start", "clean", "rough", "lost", "fluent", "next")
"""What a pedal may do: start and stop the beat, rate, or pass on to the next key."""
ClickKind = Literal["sound", "bell", "off"]
Backing = Literal["off", "bass", "bass-and-chords"]
Value = str | int | float


@dataclass(frozen=True, slots=True)
class Preference:
    """A setting: its default and its reason.

    ``read`` takes what was typed; it raises ValueError or BadInput for what can't be.
    """

    name: str
    default: Value
    reason: str
    read: Callable[[str], Value]


def _one_of(*names: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text not in names:
            raise ValueError("one of " + ", ".join(names))
        return text

    return read


def _pedal(text: str) -> str:
    """Read what the left and the right pedal do."""
    words = text.lower().split()
    if words == ["off"]:
        return "off"
    if len(words) != 2 or not set(words) <= set(PEDALS):
        choices = ", ".join(PEDALS)
        raise ValueError(f"'off', or what left and right do, as in 'start clean': {choices}")
    return " ".join(words)


def _seconds(text: str) -> int:
    if not (text.isascii() and text.isdigit() and int(text) <= 60):
        raise ValueError("a whole number of seconds from 0 to 60")
    return int(text)


def _delay(text: str) -> int:
    if not (text.isascii() and text.isdigit() and int(text) <= 500):
        raise ValueError("a whole number of milliseconds from 0 to 500")
    return int(text)


def _percent(text: str) -> str:
    if not (text.isascii() and text.isdigit() and int(text) <= 100):
        raise ValueError("a whole number from 0 to 100")
    return str(int(text))


def _half_life(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 7 <= int(text) <= 3650):
        raise ValueError("a whole number of days from 7 to 3650")
    return int(text)


def _zone(text: str) -> str:
    if text != "system":
        try:
            ZoneInfo(text)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            raise ValueError("'system' or a zone such as Europe/Lisbon") from None
    return text


def _instrument(text: str) -> str:
    from drillbox.music.moving.instruments import find_instrument  # only where one is named

    try:
        return find_instrument(text).name
    except BadInput as problem:
        raise ValueError(problem.remedy.rstrip(".")) from None


def _keys(text: str) -> str:
    """Read the player's own order: twelve keys, each once."""
    try:
        keys = [parse_key(word) for word in text.replace(",", " ").split()]
    except BadInput as problem:
        raise ValueError(f"only keys: {problem.line()}") from None
    if keys and len({key.tonic.pitch_class for key in keys}) != 12:
        raise ValueError("twelve keys, each once, such as 'C G D A E B Gb Db Ab Eb Bb F'")
    if len(keys) not in {0, 12}:
        raise ValueError("twelve keys, each once")
    return " ".join(key.tonic.text() for key in keys)


OWN = (
    Preference("order", "fourths", "the order in which a phrase's keys start", _one_of(*ORDERS)),
    Preference("own_order", "", "twelve keys for the order 'own'", _keys),
    Preference("gb", "Gb", "how the key of six accidentals is spelled", _one_of("Gb", "F#")),
    Preference("ebm", "Ebm", "how the minor key of six accidentals is spelled",
               _one_of("Ebm", "D#m")),
    Preference("turnaround", "dominant", "how a proposed turnaround leads back",
               _one_of("dominant", "two-five", "substitute")),
    Preference("instrument", "concert", "your instrument; charts are shown at its written pitch",
               _instrument),
    Preference("beat", "written", "in double time, which beat is shown and clicked",
               _one_of("written", "doubled")),
    Preference("click", "sound", "how the beat is heard", _one_of("sound", "bell", "off")),
    Preference("click_beats", "every", "which beats are clicked",
               _one_of("every", "2-and-4", "bar")),
    Preference("backing", "off", "what is played under the beat besides the click",
               _one_of("off", "bass", "bass-and-chords")),
    Preference("swing", "light", "how eighths are played when you hear a line; ever more even at "
               "fast tempos, even in double time", _one_of("even", "light", "triplet")),
    Preference("next_after", 4, "seconds from a rating to the next count-in; "
               "0: wait until you start it", _seconds),
    Preference("listen", "off", "hear your attempts and propose a rating; nothing is recorded",
               _one_of("midi", "mic", "off")),
    Preference("listen_to", "", "the MIDI port or microphone to listen to, or a part of its "
               "name; empty: the first", str.strip),
    Preference("listen_delay", 0, "milliseconds that sound takes from the click to the "
               "microphone; 'drillbox listen --try mic' measures it", _delay),
    Preference("accept_after", 0, "seconds after which a proposed rating is taken; "
               "0: never", _seconds),
    Preference("pedal", "off", "what a page-turning pedal does, left and right", _pedal),
    Preference("volume", "70", "loudness of the click, 0 to 100; mind your ears", _percent),
    Preference("half_life", 90, "days after which an attempt counts only half in the summary",
               _half_life),
    Preference(ROOM_SETTING, ROOM, "megabytes that all backups of your store may take",
               read_room),
    Preference("zone", "system", "the time zone of your practice days", _zone),
)  # fmt: skip

WEIGHTS = "weights"  # the one setting that isn't typed: a fit sets it

PREFERENCES: dict[str, Preference] = {each.name: each for each in OWN} | {
    each.name: Preference(each.name, each.default, each.reason, each.read) for each in SETTINGS
}


@dataclass(frozen=True)
class Preferences:
    """Every setting as it stands: what the store holds over the defaults.

    ``weights`` are the memory model's, where they were fitted to the player. ``left_out``
    holds by name, as text, what is stored and can't be used.
    """

    values: Mapping[str, Value]
    weights: Weights | None = None
    left_out: Mapping[str, str] = field(default_factory=dict)

    @property
    def order(self) -> str:
        """Return the name of the order in which keys open."""
        return str(self.values["order"])

    @cached_property
    def zone(self) -> str:
        """Return the IANA name of the player's zone."""
        named = str(self.values["zone"])
        if named != "system":
            return named
        from drillbox.practice.settings.zones import system_zone  # only where the zone isn't set

        return system_zone()

    @property
    def spelling(self) -> Spelling:
        """Return how the keys of six accidentals are spelled."""
        return Spelling(
            gb="F#" if self.values["gb"] == "F#" else "Gb",
            ebm="D#m" if self.values["ebm"] == "D#m" else "Ebm",
        )

    @property
    def turnaround(self) -> Style:
        """Return how a proposed turnaround leads back to the first chord."""
        return cast("Style", self.values["turnaround"])

    @property
    def instrument(self) -> Instrument:
        """Return the player's instrument."""
        from drillbox.music.moving.instruments import find_instrument  # only where it is asked for

        return find_instrument(str(self.values["instrument"]))

    @property
    def sounding_range(self) -> Range | None:
        """Return the sounding range of the player's instrument; None where none is set."""
        return None if self.values["instrument"] == "concert" else self.instrument.sounding_range

    @property
    def transposes(self) -> bool:
        """Return whether the player reads other note names than those that sound."""
        set_to = self.values["instrument"]
        return set_to != "concert" and self.instrument.above.semitones % 12 != 0

    def shown_key(self, key: Key, written: Key | None = None) -> Key:
        """Return a concert key as the player reads it, in the written pitch of the instrument.

        It is spelled as the settings say. Only the key that a phrase was ``written`` in keeps
        its own spelling, where the instrument doesn't transpose.
        """
        if not self.transposes:
            return key if key == written else conventional(key, self.spelling)
        from drillbox.music.moving.instruments import written_key  # only for a player of such a one

        return written_key(key, self.instrument, self.spelling)

    @property
    def doubled_beat(self) -> bool:
        """Return whether the beat of a phrase in double time is the doubled one."""
        return self.values["beat"] == "doubled"

    @property
    def click_kind(self) -> ClickKind:
        """Return how the beat is heard."""
        return cast("ClickKind", self.values["click"])

    @property
    def click_beats(self) -> CountedBeats:
        """Return which beats are clicked."""
        return cast("CountedBeats", self.values["click_beats"])

    @property
    def backing(self) -> Backing:
        """Return what is played under the beat."""
        return cast("Backing", self.values["backing"])

    @property
    def swing(self) -> Swing:
        """Return how the eighths of a line that is heard are played."""
        return cast("Swing", self.values["swing"])

    @property
    def next_after(self) -> int:
        """Return the seconds until the next card counts itself in, 0 where it waits."""
        return int(self.values["next_after"])

    @property
    def pedal(self) -> tuple[str, str] | None:
        """Return what the left and the right pedal do, among ``PEDALS``; None without a pedal."""
        if self.values["pedal"] == "off":
            return None
        left, right = str(self.values["pedal"]).split()
        return left, right

    @property
    def listen(self) -> Literal["midi", "mic", "off"]:
        """Return what attempts are heard by."""
        return cast("Literal['midi', 'mic', 'off']", self.values["listen"])

    @property
    def listen_to(self) -> str:
        """Return the device to listen to, or a part of its name; "" for the first."""
        return str(self.values["listen_to"])

    @property
    def listen_delay(self) -> float:
        """Return by how many seconds what is heard comes late."""
        return int(self.values["listen_delay"]) / 1000

    @property
    def accept_after(self) -> int:
        """Return the seconds after which a proposed rating is taken, 0 for never."""
        return int(self.values["accept_after"])

    def with_listening(self, listen: str | None) -> Preferences:
        """Return the settings with another way to listen, None for the same."""
        if listen is None:
            return self
        return replace(self, values={**self.values, "listen": read_setting("listen", listen)})

    @property
    def volume(self) -> int:
        """Return the loudness of the click, 0 to 100."""
        return int(self.values["volume"])

    @property
    def half_life(self) -> float:
        """Return the days after which an attempt weighs half in the summary."""
        return float(self.values["half_life"])

    def with_backing(self, backing: str | None) -> Preferences:
        """Return the settings with another backing, None for the same; raise BadInput for none."""
        if backing is None:
            return self
        return replace(self, values={**self.values, "backing": read_setting("backing", backing)})

    def with_loops(self, loops: int | None) -> Preferences:
        """Return the settings with another number of loops (0: until a key), None for the same."""
        if loops is None:
            return self
        return replace(self, values={**self.values, "loops": loops})

    def own_order(self, mode: Mode) -> tuple[Key, ...]:
        """Return the player's own order as concert keys, empty where none is set.

        It is set in the keys that the player reads.
        """
        names = str(self.values["own_order"]).split()
        keys = [Key(parse_key(name).tonic, mode) for name in names]
        if not self.transposes:
            return tuple(keys)
        down = -self.instrument.above
        return tuple(conventional(Key(key.tonic.up(down), mode)) for key in keys)

    @cached_property
    def rules(self) -> Rules:
        """Return the numbers that memory decides by."""
        return rules_from(
            {each.name: float(self.values[each.name]) for each in SETTINGS}, self.weights
        )


def preferences_from(stored: Mapping[str, object]) -> Preferences:
    """Return the settings: what is stored where it passes its check, else the default."""
    values: dict[str, Value] = {name: each.default for name, each in PREFERENCES.items()}
    weights: Weights | None = None
    left_out: dict[str, str] = {}
    for name in sorted(stored.keys() & {*PREFERENCES, WEIGHTS}):
        try:
            if name == WEIGHTS:
                weights = weights_from(stored[name])
            else:
                values[name] = stored_value(name, stored[name])
        except (ValueError, BadInput):
            left_out[name] = f"{stored[name]!r:.60}"
    return Preferences(values, weights, left_out)


def stored_value(name: str, value: object) -> Value:
    """Return the value of a setting as a store or a document holds it, checked like a typed one.

    Raises ValueError or BadInput where it can't be.
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise ValueError(f"{value!r:.40} is neither a number nor a text")
    if (
        isinstance(value, float)
        and value.is_integer()
        and isinstance(PREFERENCES[name].default, int)
    ):
        value = int(value)
    return PREFERENCES[name].read(str(value))


def read_setting(name: str, text: str) -> Value:
    """Return a typed setting's value; raise BadInput if there is no such one or it can't be."""
    if name not in PREFERENCES:
        raise BadInput(f"There is no setting {name!r}", "'drillbox settings' lists them all.")
    try:
        return PREFERENCES[name].read(text.strip())
    except ValueError as problem:
        remedy = str(problem)  # a phrase such as "a day", or a sentence
        said = remedy if remedy[:1].isupper() else f"Use {remedy}"
        raise BadInput(f"{text!r} can't be set as {name}", said) from None
