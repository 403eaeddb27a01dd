"""A connection to PostgreSQL that waits for no answer for ever, and ends at once at Ctrl-C."""

from __future__ import annotations

import time
from collections.abc import Generator
from typing import Any

import psycopg
from psycopg import waiting

# Seconds of silence; longer than a statement may take, which the server ends by itself.
ANSWER = 30.0


class PatientConnection(psycopg.Connection[Any]):
    """A connection whose server may be silent for ``ANSWER`` seconds; then it is closed."""

    def wait(self, gen: Any, interval: float = 0.1, *_: Any, **__: Any) -> Any:
        """Do what a generator of the library asks for; raise OperationalError after too long."""
        try:
            return waiting.wait(_limited(gen), self.pgconn.socket, interval)
        except (psycopg.errors.ConnectionTimeout, KeyboardInterrupt):
            # To ask a server that is frozen to break off would be one more wait.
            self.pgconn.finish()
            raise


def _limited(gen: Any) -> Generator[Any, Any, Any]:
    deadline = time.monotonic() + ANSWER
    try:
        wanted = next(gen)
        while True:
            ready = yield wanted
            if ready:
                deadline = time.monotonic() + ANSWER
            elif time.monotonic() >= deadline:
                raise psycopg.errors.ConnectionTimeout(f"no answer for {ANSWER:.0f} seconds")
            wanted = gen.send(ready)
    except StopIteration as end:
        return end.value


def connect(_dialect: Any, _record: Any, words: Any, options: Any) -> PatientConnection:
    """Connect with what SQLAlchemy made of an address (its event ``do_connect``)."""
    return PatientConnection.connect(*words, **options)
