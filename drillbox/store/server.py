"""PostgreSQL as the engine: one store for several computers, on a server that others keep."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, ProgrammingError

from drillbox.errors import BadInput, StoreFailure
from drillbox.store.access import PATIENCE, Risk, Store, faults
from drillbox.store.sql import HEAD, compact_json, stored_revision
from drillbox.tick import Tell, Tick, silent

# What writers lock, so that one at a time changes the store, as with a file: the word "drill"
# as a number. It is held for the length of a transaction, and falls with its connection.
LOCK = int.from_bytes(b"drill")
STATEMENT = 25_000  # milliseconds; one over the log of many years takes some seconds
TABLES = "SELECT tablename FROM pg_tables WHERE schemaname = current_schema()"


class ServerStore(Store):
    """A store in a PostgreSQL database."""

    def keep_today(self, now: datetime | None = None) -> None:
        """Do nothing: a server is backed up by who keeps it, or by an export."""

    def keep_before(self, what: Risk, now: datetime) -> None:
        """Do nothing, as above."""

    def _looking(self, connection: Connection) -> Connection:
        # Several queries of one read see the same moment, as in SQLite.
        return connection.execution_options(isolation_level="REPEATABLE READ")

    def _changing(self, connection: Connection) -> AbstractContextManager[object]:
        return alone_in_writing(connection)


@contextmanager
def alone_in_writing(connection: Connection) -> Iterator[None]:
    """Begin a transaction and wait until no other writer is in one."""
    with connection.begin():
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({LOCK:d})")
        yield


def open_server(address: str, tell: Tell = silent, tick: Tick = silent) -> Store:
    """Open the store in a PostgreSQL database, making or migrating it where that is needed.

    The address is ``postgresql+psycopg://user@host/database``. A password comes from
    PGPASSWORD or a password file. ``tell`` hears of a migration, ``tick`` how far it is. Raises
    BadInput for another kind of address or one with a password in it, StoreFailure where the store
    can't be used.
    """
    url = _checked(address)
    name = url.render_as_string(hide_password=True)
    engine = _engine(url)
    try:
        with faults(name), _options_known(name):
            _make_current(engine, name, tell, tick)
        return ServerStore(engine, name)
    except BaseException:
        engine.dispose()
        raise


@contextmanager
def _options_known(name: str) -> Iterator[None]:
    """Raise BadInput where the address or the environment has an option that there isn't."""
    try:
        yield
    except ProgrammingError as problem:
        if getattr(problem.orig, "sqlstate", None) is not None:
            raise
        raise BadInput(
            f"The address of the store {name} can't be used: {problem.orig}",
            "Leave that option out, or see PostgreSQL's list of connection parameters.",
        ) from problem


def _checked(address: str) -> URL:
    try:
        url = make_url(address)
    except (ArgumentError, ValueError):
        url = None
    if url is None or url.get_backend_name() != "postgresql":
        # What stands after the scheme may be a password, wherever it stands.
        raise BadInput(
            f"{address.partition(':')[0][:40] + '://…'!r} isn't an address of a store",
            "Use a file, or postgresql+psycopg://user@host/database.",
        )
    if url.password or {"password", "sslpassword"} & set(url.query):
        raise BadInput(
            "The address of the store holds a password, which other programs can read there",
            "Put it into PGPASSWORD or a password file (~/.pgpass) and leave it out.",
        )
    return url.set(drivername="postgresql+psycopg")


def _engine(url: URL) -> Engine:
    try:
        import psycopg  # noqa: F401 - an extra; looked for here to be missed by name
    except ImportError as problem:
        raise StoreFailure(
            "A store on a server needs psycopg, which isn't installed",
            "In your copy of drillbox: pip install '.[postgres]'",
        ) from problem
    from drillbox.store.server_connection import connect  # psycopg, once it is there

    options = url.query.get("options") or os.environ.get("PGOPTIONS", "")
    waits = f"-c lock_timeout={PATIENCE} -c statement_timeout={STATEMENT}"
    waits += " -c idle_in_transaction_session_timeout=60000"
    asked = " ".join([options] if isinstance(options, str) else options)
    engine = create_engine(
        url.difference_update_query(["options"]),
        # After a restart of the server the next attempt gets a fresh connection.
        pool_pre_ping=True,
        json_serializer=compact_json,
        connect_args={
            "connect_timeout": _connect_timeout(url),
            # What the player asks for stands last, so that it is what counts.
            "options": f"{waits} {asked}".strip(),
            "application_name": "drillbox",
            # Else what the database keeps its text in, or no encoding at all (SQL_ASCII).
            "client_encoding": "UTF8",
            # A line that was cut, or a server that was, is known by then.
            "tcp_user_timeout": PATIENCE,
            "keepalives_idle": 10,
            "keepalives_interval": 5,
            "keepalives_count": 2,
        },
    )
    event.listen(engine, "do_connect", connect)
    return engine


def _connect_timeout(url: URL) -> int:
    """Return the seconds that connecting may take; raise BadInput for no whole number."""
    told = url.query.get("connect_timeout") or os.environ.get("PGCONNECT_TIMEOUT") or "10"
    try:
        return int(str(told))
    except ValueError:
        raise BadInput(
            f"The time for connecting is {str(told)[:40]!r}",
            "Use whole seconds: PGCONNECT_TIMEOUT=10.",
        ) from None


def _make_current(engine: Engine, name: str, tell: Tell, tick: Tick) -> None:
    with engine.connect() as connection:
        stored = stored_revision(connection, name, TABLES)
        if stored is None:
            _refuse_other_text(connection, name)
    if stored == HEAD:
        return
    from drillbox.store.upgrading import (
        outdated_line,
        refuse_newer,
        upgrade,
    )  # alembic, only where needed

    with engine.connect() as connection, alone_in_writing(connection):
        # Another may have migrated it while this one waited.
        stored = stored_revision(connection, name, TABLES)
        if stored == HEAD:
            return
        if stored is not None:
            refuse_newer(stored, name)
            tell(outdated_line(name))
        upgrade(connection, name, tick)


def _refuse_other_text(connection: Connection, name: str) -> None:
    """Raise StoreFailure where a new store could keep only some characters."""
    kept_in = connection.exec_driver_sql("SHOW server_encoding").scalar_one()
    if kept_in not in {"UTF8", "SQL_ASCII"}:
        raise StoreFailure(
            f"The database {name} keeps text as {kept_in}, which lacks many characters",
            "Have one made in UTF-8: createdb --encoding=UTF8 --template=template0 NAME.",
        )
