"""The twelve major and twelve minor keys, and the orders in which players visit them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from drillbox.errors import BadInput
from drillbox.music.pitch import NAME, Interval, Name, parse_name

Mode = Literal["major", "minor"]


@dataclass(frozen=True, slots=True)
class Key:
    """A key: its spelled tonic and its mode."""

    tonic: Name
    mode: Mode = "major"

    def text(self, *, ascii: bool = True) -> str:
        """Return the short name, ``Bb`` or ``Cm``."""
        return self.tonic.text(ascii=ascii) + ("m" if self.mode == "minor" else "")

    def interval_to(self, other: Key) -> Interval:
        """Return the ascending interval from this tonic to the other, within an octave."""
        return self.tonic.interval_to(other.tonic)
