"""An open store, whatever its engine: look at one moment of it, change it whole or not at all."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Connection, Engine

from drillbox.errors import BadInput, StoreFailure
from drillbox.store.faults import NoRoom, faults


class Store(ABC):
    """An open store. ``name`` says which one to a player; close it, or use it in a ``with``."""

    def __init__(self, engine: Engine, name: str) -> None:
        self.engine = engine
        self.name = name
        self.backup_failure: StoreFailure | None = None

    @property
    def place(self) -> Path:
        """Return the store's file; raise BadInput for a store that has none of its own."""
        raise BadInput(
            f"{self.name} is on a server, which has no file here",
            "To back it up: drillbox store export DIR.",
        )

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Yield a connection that sees one moment of the store; raise StoreFailure on a fault."""
        with faults(self.name), self.engine.connect() as connection:
            yield self._looking(connection)

    @contextmanager
    def write(self, *, backup: bool = True) -> Iterator[Connection]:
        """Yield a connection whose changes are all on disk when the block ends, or none.

        Waits for another writer first, so what is read inside is still true at the end. The
        day's backup precedes it, unless it is a change that only adds and ``backup`` is off.
        Raises StoreFailure on a fault, NotKnown where the answer to the last step is lost.
        """
        try:
            with self._written(backup=backup) as connection:
                yield connection
        except NoRoom as problem:
            if self._give_up_backup():
                raise NoRoom(
                    problem.what, "The day's backup was given up to make room: try again."
                ) from problem
            raise

    @contextmanager
    def _written(self, *, backup: bool) -> Iterator[Connection]:
        committing = False
        with faults(self.name, lambda: committing), self.engine.connect() as connection:
            if backup:
                self.keep_today()
            with self._changing(connection):
                yield connection
                committing = True
            committing = False

    def _give_up_backup(self) -> bool:
        """Remove the day's backup where this program made it; return whether it did."""
        return False

    @abstractmethod
    def keep_today(self) -> None:
        """Make the practice day's backup unless there is one; done before the first change."""

    def _looking(self, connection: Connection) -> Connection:
        return connection

    @abstractmethod
    def _changing(self, connection: Connection) -> AbstractContextManager[object]:
        """Begin a transaction that is alone in changing the store."""

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()
