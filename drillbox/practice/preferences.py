"""The player's settings as they stand, over the defaults; and what they read by them.

Everything in the store stands at concert pitch; a change of the instrument, or of how keys
are spelled, shows at once wherever something is read.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import cached_property
from typing import TYPE_CHECKING, Literal, cast

from drillbox.errors import BadInput
from drillbox.memory.days import practice_day
from drillbox.memory.recall import Weights, weights_from
from drillbox.memory.rules import SETTINGS, WEIGHTS, Rules, rules_from
from drillbox.music.keys import Key, Mode, Spelling, conventional_key, in_order, parse_key
from drillbox.music.phrases import Phrase
from drillbox.practice.settings import (
    PREFERENCES,
    Value,
    read_setting,
    stored_value,
    system_zone,
)
from drillbox.store.access import Store
from drillbox.store.phrase_rows import phrase
from drillbox.store.values import CardRecord

if TYPE_CHECKING:
    from drillbox.music.moving.instruments import Instrument
    from drillbox.music.moving.transposition import Range
    from drillbox.music.pulse import CountedBeats
    from drillbox.music.tunes import Tune
    from drillbox.music.turnarounds import Style
    from drillbox.sound.loop_parts import Swing


ClickKind = Literal["sound", "bell", "off"]
Backing = Literal["off", "bass", "bass-and-chords"]


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

        return system_zone()

    def today(self, now: datetime) -> date:
        """Return the player's practice day."""
        return practice_day(now, self.zone, self.rules.day_start_hour)

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
            return key if key == written else conventional_key(key, self.spelling)
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
        return tuple(conventional_key(Key(key.tonic.up(down), mode)) for key in keys)

    def keys_in_order(self, first: Key, order: str) -> tuple[Key, ...]:
        """Return the twelve keys in an order, from the first; BadInput where it isn't set."""
        own = self.own_order(first.mode)
        if order == "own" and not own:
            raise BadInput(
                "Your own order of keys is empty",
                "List all twelve: drillbox settings own_order 'C G D A E B Gb Db Ab Eb Bb F'",
            )
        return in_order(first, order, self.spelling, own)

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


def as_read(stored: Phrase, key: Key, preferences: Preferences) -> Phrase:
    """Return a phrase in one of its concert keys as the player reads it.

    The line's note names are those that are read; its octave is left as it was written.
    """
    from drillbox.music.moving.transposition import read_in  # only where something is moved

    return read_in(stored, preferences.shown_key(key, stored.key))


def tune_as_read(tune: Tune, preferences: Preferences) -> Tune:
    """Return a tune in the written pitch of the player's instrument."""
    read = as_read(Phrase(tune.title, tune.key, tune.tempo, tune.chart), tune.key, preferences)
    return replace(tune, key=read.key, chart=read.chart)


def card_as_read(store: Store, card: CardRecord, preferences: Preferences) -> CardRecord:
    """Return a card with key, chart and line as the player reads them.

    The phrase is looked up only where they differ from what sounds.
    """
    if not preferences.transposes and preferences.shown_key(card.key) == card.key:
        return card
    stored = phrase(store, card.phrase_id).phrase
    if preferences.shown_key(card.key, stored.key) == card.key:
        return card
    read = as_read(stored, card.key, preferences)
    return replace(card, key=read.key, chart=read.chart, line=read.line)


def chosen_key(text: str, stored: Phrase, keys: Sequence[Key], preferences: Preferences) -> Key:
    """Return the concert key that the player names as they read it, in any spelling.

    Raises BadInput, naming the twelve, where it is none of the phrase's keys.
    """
    shown = {key: preferences.shown_key(key, stored.key) for key in keys}
    names = ", ".join(each.text() for each in shown.values())
    try:
        wanted = parse_key(text)
    except BadInput as problem:
        raise BadInput(problem.what, f"{stored.title!r} is played in {names}.") from None
    for key, read in shown.items():
        if read.number == wanted.number:
            return key
    raise BadInput(f"{stored.title!r} isn't played in {wanted.text()}", f"It's played in {names}.")


def card_in(
    stored: Phrase, cards: Sequence[CardRecord], key: str, preferences: Preferences
) -> CardRecord:
    """Return the card in a key as the player reads it; raise BadInput where there is none."""
    chosen = chosen_key(key, stored, [each.key for each in cards], preferences)
    return next(each for each in cards if each.key == chosen)
