"""The beat clock in invented time, and once in real time."""

import time
from collections.abc import Iterable

import pytest

from drillbox.music.charts import Meter
from drillbox.music.pulse import Position, Pulse
from drillbox.terminal.clock import OVER, BeatClock
from drillbox.terminal.presses import CONTINUED, END, SPACE, TIMEOUT, Press
from drillbox.terminal.sounds import SilentClick

FOUR = Meter(4, 4)


class Room:
    """Time that passes only while a key is waited for, and keys pressed at set moments."""

    def __init__(self, presses: Iterable[tuple[float, Press]] = ()) -> None:
        self.time = 100.0
        self.presses = list(presses)

    def now(self) -> float:
        return self.time

    def read_key(self, timeout: float | None = None) -> Press:
        until = None if timeout is None else self.time + timeout
        if self.presses and (until is None or self.presses[0][0] <= until):
            at, press = self.presses.pop(0)
            self.time = max(self.time, at)
            return press
        assert until is not None, "waits for ever"
        self.time = until
        return TIMEOUT

    def __enter__(self) -> "Room":
        return self

    def __exit__(self, *error: object) -> None: ...


class Heard(SilentClick):
    """A click that writes down what it is told, and is heard ``late`` seconds after it began."""

    def __init__(self, room: Room, late: float = 0.25) -> None:
        self.room, self.late = room, late
        self.log: list[tuple[object, ...]] = []

    def begin(self, pulse: Pulse, first: int) -> float:
        self.log.append(("begin", pulse.loops, first))
        return self.room.time + self.late

    def beat(self, position: Position) -> None:
        self.log.append(("beat", position.bar, position.beat))

    def stop(self) -> None:
        self.log.append(("stop",))


def test_every_beat_falls_on_its_deadline_and_then_it_is_over() -> None:
    """Proves times and positions of a whole run: count-in, two bars, the end of the last bar."""
    room = Room([(200.0, SPACE)])
    clock = BeatClock(room, Pulse(FOUR, 2, 120, loops=1), Heard(room, 0.0), room.now)
    clock.start()
    seen = []
    while (event := clock.wait()) != OVER:
        seen.append((room.time, event))
    assert [at for at, _ in seen] == [100 + n / 2 for n in range(12)]
    assert seen[0][1] == Position(True, 0, 0, 0)
    assert seen[11][1] == Position(False, 0, 1, 3)
    assert room.time == 106
    assert clock.beats_now() == 0
    assert clock.wait() == SPACE


def test_a_key_between_two_beats_disturbs_neither() -> None:
    """Proves that presses come at once and the beats stay where they were."""
    room = Room([(100.2, Press("l")), (100.3, Press("?"))])
    clock = BeatClock(room, Pulse(FOUR, 1, 60, 2), Heard(room, 0.0), room.now)
    clock.start()
    clock.wait()
    assert [clock.wait(), clock.wait()] == [Press("l"), Press("?")]
    assert clock.wait() == Position(True, 0, 0, 1)
    assert room.time == 101


def test_a_clock_at_rest_only_reads_keys() -> None:
    """Proves that nothing beats before the start."""
    room = Room([(500.0, END)])
    clock = BeatClock(room, Pulse(FOUR, 1, 60, 2), Heard(room, 0.0), room.now)
    assert clock.wait() == END
    assert clock.beats_now() == 0


def test_a_slow_screen_skips_beats_and_keeps_time() -> None:
    """Proves that a delay of two beats and a half loses two beats and no time."""
    room = Room()
    clock = BeatClock(room, Pulse(FOUR, 1, 240, loops=None), Heard(room, 0.0), room.now)
    clock.start()
    clock.wait()
    room.time += 0.25 * 3.5
    assert clock.wait() == Position(True, 0, 0, 3)
    assert clock.wait() == Position(True, 0, 1, 0)
    assert room.time == 101


def test_after_a_long_stop_the_beat_goes_on_where_it_was() -> None:
    """Proves that a stopped machine does not make the chart rush by; the click begins anew."""
    room = Room()
    click = Heard(room)
    clock = BeatClock(room, Pulse(FOUR, 1, 60, loops=None), click, room.now)
    clock.start()
    clock.wait()
    room.time += 3600
    assert clock.wait() == Position(True, 0, 0, 1)
    assert clock.wait() == Position(True, 0, 0, 2)
    assert room.time == 100.25 + 3600 + 0.25 + 1
    assert clock.first_bar == room.time + 2
    assert ("begin", None, 1) in click.log


def test_coming_back_from_ctrl_z_realigns_click_and_beat() -> None:
    """Proves that even a short stop begins the click again at the next beat."""
    room = Room([(100.5, CONTINUED)])
    click = Heard(room)
    clock = BeatClock(room, Pulse(FOUR, 1, 60, loops=None), click, room.now)
    clock.start()
    clock.wait()
    assert clock.wait() == CONTINUED
    assert click.log[-1] == ("begin", None, 1)
    assert clock.first_bar == 100.75 + 3
    clock.wait()
    assert room.time == 100.75
    clock.pause()
    assert clock.first_bar == 100.75 + 3  # what was heard is judged by it once the beat is over


def test_the_beat_is_seen_when_it_is_heard() -> None:
    """Proves that a device's delay moves the beats with it, and that it is told each beat."""
    room = Room()
    click = Heard(room)
    clock = BeatClock(room, Pulse(FOUR, 1, 60, loops=1), click, room.now)
    clock.start()
    clock.wait()
    assert room.time == 100.25
    while clock.wait() != OVER:
        pass
    assert room.time == 108.25
    assert click.log[0] == ("begin", 1, 0)
    assert click.log[1:9] == [("beat", 0, beat) for _ in range(2) for beat in range(4)]
    assert click.log[9:] == [("stop",)]


def test_a_pause_is_silent_and_still_reads_keys() -> None:
    """Proves that no beat falls in a pause, however long the next key takes."""
    room = Room([(120.0, SPACE)])
    click = Heard(room)
    clock = BeatClock(room, Pulse(FOUR, 1, 60, loops=3), click, room.now)
    clock.start()
    for _ in range(10):
        clock.wait()
    clock.pause()
    assert clock.beats_now() == 0
    assert click.log[-1] == ("stop",)
    assert clock.wait() == SPACE
    assert room.time == 120.0


def test_starting_again_begins_with_the_first_loop() -> None:
    """Proves that a restart owes nothing to what was played before."""
    room = Room()
    clock = BeatClock(room, Pulse(FOUR, 1, 60, loops=2), Heard(room, 0.0), room.now)
    clock.start()
    for _ in range(9):
        clock.wait()
    clock.pause()
    clock.start()
    assert clock.wait() == Position(True, 0, 0, 0)


def test_an_endless_pulse_says_when_it_began() -> None:
    """Proves that a clock has no beginning at first, and then the moment of its first bar."""
    room = Room()
    clock = BeatClock(room, Pulse(FOUR, 1, 60, loops=None), Heard(room), room.now)
    assert clock.first_bar is None
    clock.start()
    assert clock.first_bar == 100.25 + 4
    assert clock.wait() == Position(True, 0, 0, 0)


class Sleeper(Room):
    """Keys that never come, in real time."""

    def read_key(self, timeout: float | None = None) -> Press:
        time.sleep(timeout or 0)
        return TIMEOUT


def test_real_beats_do_not_drift() -> None:
    """Proves on the real clock that the last of 16 beats at 400 is as late as the first."""
    clock = BeatClock(Sleeper(), Pulse(FOUR, 2, 400, loops=1))
    clock.start()
    began = time.monotonic()
    for _ in range(16):
        clock.wait()
    assert time.monotonic() - began == pytest.approx(15 * 0.15, abs=0.05)


def test_a_wait_may_end_between_two_beats() -> None:
    """Proves that a screen can change between beats: TIMEOUT then, and no beat is lost."""
    room = Room()
    clock = BeatClock(room, Pulse(FOUR, 2, 120, 1), Heard(room, late=0.0), room.now)
    clock.start()
    assert clock.wait() == Position(True, 0, 0, 0)
    assert clock.wait(0.5) == TIMEOUT
    assert clock.beats_now() == pytest.approx(0.5)
    assert clock.wait(1.5) == Position(True, 0, 0, 1)
    assert clock.beats_now() == pytest.approx(1.0)
