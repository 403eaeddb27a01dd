"""A connection to PostgreSQL that waits for no answer for ever, and ends at once at Ctrl-C."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Generator, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

import psycopg
from psycopg import waiting

# Seconds of silence; longer than a statement may take, which the server ends by itself.
ANSWER = 30.0
# Seconds of silence after which Ctrl-C breaks the wait off; a server that answers is heard out.
SILENT = 1.0


class Breaking:
    """Ctrl-C while a server is waited for, also where a session takes it as a press.

    Once it broke a wait off, nothing more is asked of that server: ``broke`` stays.
    """

    def __init__(self) -> None:
        self.pressed = False
        self.broke = False

    @contextmanager
    def noted(self) -> Iterator[None]:
        """Note Ctrl-C inside the block; it does what it did before all the same."""
        before = signal.getsignal(signal.SIGINT)
        if threading.current_thread() is not threading.main_thread() or not callable(before):
            yield
            return

        def note(number: int, frame: FrameType | None) -> None:
            self.pressed = True
            before(number, frame)

        self.pressed = False
        signal.signal(signal.SIGINT, note)
        try:
            yield
        finally:
            if signal.getsignal(signal.SIGINT) is note:
                signal.signal(signal.SIGINT, before)

    def now(self, silent: float) -> bool:
        """Return whether a wait of so many seconds without an answer is to be broken off."""
        self.broke = self.broke or (self.pressed and silent >= SILENT)
        return self.broke


BREAKING = Breaking()


class PatientConnection(psycopg.Connection[Any]):
    """A connection whose server may be silent for ``ANSWER`` seconds; then it is closed."""

    def wait(self, gen: Any, interval: float = 0.1, *_: Any, **__: Any) -> Any:
        """Do what a generator of the library asks for; raise OperationalError after too long."""
        try:
            with BREAKING.noted():
                return waiting.wait(_limited(gen), self.pgconn.socket, interval)
        except (psycopg.errors.ConnectionTimeout, KeyboardInterrupt):
            # To ask a server that is frozen to break off would be one more wait.
            self.pgconn.finish()
            raise


def _limited(gen: Any) -> Generator[Any, Any, Any]:
    heard = time.monotonic()
    try:
        wanted = next(gen)
        while True:
            ready = yield wanted
            silent = time.monotonic() - heard
            if ready:
                heard = time.monotonic()
            elif BREAKING.now(silent):
                raise psycopg.errors.ConnectionTimeout("broken off by Ctrl-C")
            elif silent >= ANSWER:
                raise psycopg.errors.ConnectionTimeout(f"no answer for {ANSWER:.0f} seconds")
            wanted = gen.send(ready)
    except StopIteration as end:
        return end.value


def connect(_dialect: Any, _record: Any, words: Any, options: Any) -> PatientConnection:
    """Connect with what SQLAlchemy made of an address (its event ``do_connect``)."""
    if BREAKING.broke:
        raise psycopg.errors.ConnectionTimeout("broken off by Ctrl-C")
    with BREAKING.noted():
        try:
            return PatientConnection.connect(*words, **options)
        except psycopg.Error:
            BREAKING.broke = BREAKING.pressed
            raise
