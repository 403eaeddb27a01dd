"""Try an ear out: what it hears now, the click's way back, and a recording that was asked for."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from drillbox.hearing.files import LONGEST
from drillbox.hearing.takes import Overheard
from drillbox.music.charts import Meter
from drillbox.music.pulse import Pulse
from drillbox.sound.ticks import RATE, tick
from drillbox.terminal.presses import TIMEOUT, Keys
from drillbox.terminal.sounds import ClickChoice, open_click

if TYPE_CHECKING:
    from drillbox.hearing.check import Echo
    from drillbox.terminal.ears import Ear

LOOK = 0.2
"""Seconds between two looks at what is heard."""
CHECK = Pulse(Meter(4, 4), 2, 100, 2)
"""The clicks that the check sends: two bars, of which the plain beats are measured."""
STEPS, QUIETEST = 12, 60.0
"""The level's bar: so many steps over so many decibels."""


def show_heard(
    ear: Ear, keys: Keys, name: Callable[[int], str], show: Callable[[str], None]
) -> None:
    """Show the notes and the level that an ear hears since it began, until something is pressed.

    ``name`` returns what a sounding pitch class is called.
    """
    before = ""
    while keys.read_key(LOOK) == TIMEOUT and not ear.problem:
        line = heard_line(ear.heard(), name)
        if line != before:
            show(line)
            before = line


def heard_line(overheard: Overheard, name: Callable[[int], str]) -> str:
    """Return the latest notes by name, or the note that sounds and how loud it is."""
    if not overheard.rate:
        return " ".join(name(note % 12) for _, _, note in overheard.notes[-12:])
    import numpy as np

    from drillbox.hearing.check import sounding_now

    last = overheard.sound[-int(LOOK * overheard.rate) * 2 :]
    now = sounding_now(np.frombuffer(last, np.int16) / 32768, overheard.rate)
    steps = round(STEPS * max(0.0, 1 + now.level / QUIETEST))
    note = "-" if now.pitch_class is None else name(now.pitch_class)
    return f"{note:3} {'=' * steps:{STEPS}} {now.level:4.0f} dB"


def measured_echo(ear: Ear, volume: int, backends: list[Any] | None = None) -> Echo | str | None:
    """Play the click and return how it comes back: None: not at all; a line: it can't be played.

    ``backends`` as in ``open_device``.
    """
    import numpy as np

    from drillbox.hearing.check import echo_of_clicks

    if not volume:
        return "The click's volume is 0. Set it: drillbox settings volume 70"
    click, problem = open_click(ClickChoice("sound", "every", volume), backends=backends)
    if problem:
        return problem
    ear.begin()
    began = click.begin(CHECK, 0)
    time.sleep(float(CHECK.bar_seconds) * 2 + 0.6)
    click.close()
    overheard = ear.heard()
    sound = np.frombuffer(overheard.sound, np.int16) / 32768
    plain = [number for number in range(8) if number % 4]
    sent = [began + float(CHECK.time(number)) - overheard.since for number in plain]
    return echo_of_clicks(sound, RATE, np.array(tick("plain"), dtype=float) / 32768, sent)


def record_sound(ear: Ear, keys: Keys) -> bytes:
    """Return what is heard until something is pressed, for ``LONGEST`` seconds at most.

    It is signed 16 bit, at ``sound.ticks.RATE``, and no longer than what can be read again.
    """
    ear.begin()
    until = time.monotonic() + LONGEST
    while keys.read_key(1.0) == TIMEOUT and not ear.problem and time.monotonic() < until:
        pass
    return ear.heard().sound[: 2 * RATE * LONGEST]
