"""The bench of the beat, run for a second, so that it can be trusted when it is needed."""

import os
import signal

import pytest

termios = pytest.importorskip("termios", reason="a pty is a POSIX thing")

from drillbox.terminal.posix import Keyboard  # noqa: E402 - only where there is a termios
from tests.bench.bench_beat import measure  # noqa: E402 - only where there is a termios


@pytest.mark.parametrize("doubled", [False, True])
def test_a_second_of_beats_on_a_real_keyboard(doubled: bool) -> None:
    """Proves that every beat of three bars at 300 comes, on time for a busy machine, in time."""
    each = measure(300, 1.0, doubled=doubled)
    assert each.beats == (24 if doubled else 12)
    assert -0.1 <= each.p50 < 20
    assert each.cpu < 0.5


def test_the_keyboard_leaves_the_signals_as_they_were() -> None:
    """Proves that handlers and the wake-up descriptor are put back after a session."""
    numbers = (signal.SIGINT, signal.SIGTERM, signal.SIGTSTP, signal.SIGWINCH, signal.SIGCONT)
    before = [signal.getsignal(number) for number in numbers]
    measure(400, 0.5)
    assert [signal.getsignal(number) for number in numbers] == before
    assert signal.set_wakeup_fd(-1) == -1


def test_a_keyboard_needs_a_terminal() -> None:
    """Proves that a pipe is refused and nothing is left taken over."""
    before = signal.getsignal(signal.SIGTERM)
    reading, writing = os.pipe()
    with pytest.raises(termios.error), Keyboard(stdin=reading, stdout=writing):
        pass
    os.close(reading)
    os.close(writing)
    assert signal.getsignal(signal.SIGTERM) == before
