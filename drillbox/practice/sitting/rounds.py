"""A round: a phrase through its keys without a stop, each key rated as it goes or after it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from fractions import Fraction
from typing import NamedTuple

from drillbox.music.charts import Chart
from drillbox.music.keys import Key
from drillbox.practice.phrases.as_read import card_as_read
from drillbox.practice.phrases.octaves import stray
from drillbox.practice.settings.preferences import Preferences
from drillbox.practice.sitting.legs import Legs
from drillbox.practice.sitting.ordering import led_back, led_on
from drillbox.practice.sitting.rating import Played, moved_tempo
from drillbox.store.access import Store
from drillbox.store.values import CardRecord


class Leg(NamedTuple):
    """One key of a round. ``read`` is its card as the player reads it.

    It is played ``loops`` times: to ``back``, and the last time to ``on``, whose turnaround
    leads into the next key. ``sounding`` are the two at concert pitch.
    """

    read: CardRecord
    back: Chart
    on: Chart
    sounding: tuple[Chart, Chart]

    @property
    def key(self) -> Key:
        """Return the key as the player reads it."""
        return self.read.key


class Round(Legs):
    """One round over a store: its keys in order, and what has become of each."""

    def __init__(
        self,
        store: Store,
        preferences: Preferences,
        cards: Sequence[CardRecord],
        *,
        tempo: int | None,
        loops: int,
        now: datetime,
    ) -> None:
        self.loops = loops
        read = [card_as_read(store, each, preferences) for each in cards]
        self.strays = [stray(each, preferences) for each in cards]
        heard = zip(map(led_back, cards), led_on(cards), strict=True)
        self.legs = tuple(
            Leg(each, led_back(each), on, sounding)
            for each, on, sounding in zip(read, led_on(read), heard, strict=True)
        )
        tempos = [each.state.tempo.tempo for each in cards]
        self.tempo = tempo or min(tempos)
        super().__init__(store, preferences, read, len(cards) * float(self.leg_seconds), now)

    @property
    def leg_seconds(self) -> Fraction:
        """Return how long one key is played, all its times through."""
        return self.legs[0].on.length * self.loops * Fraction(60, self.tempo)

    def played(self, index: int, attempt: str) -> Played:
        """Return how a key was played: at the round's tempo, all its times through."""
        read, seconds = self.reads[index], float(self.leg_seconds)
        return Played(read, self.tempo, seconds, self.loops, attempt, in_round=True)

    def change_tempo(self, rungs: int) -> int:
        """Play the rest of the round some rungs faster or slower, never over goal."""
        goal = self.legs[0].read.goal
        self.tempo = moved_tempo(self.tempo, rungs, goal, self.preferences.rules.tempo)
        return self.tempo
