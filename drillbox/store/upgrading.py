"""Bring an older store to the newest schema: whole, or not at all."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from drillbox.errors import UPDATE, BadInput, StoreFailure
from drillbox.music.moving.instruments import CONCERT, breaks_anywhere, find_instrument
from drillbox.music.phrases import line_from
from drillbox.shipped import shipped
from drillbox.store.access import ILLEGIBLE, failure, raw_connection
from drillbox.store.laying import lay_all
from drillbox.store.phrase_rows import ONE, record_from
from drillbox.store.reckoning import reckon
from drillbox.store.setting_rows import settings_in
from drillbox.store.sql import PHRASE, change, query
from drillbox.tick import Tick, silent

_RECKONED = "0013"  # since then goes move a card otherwise than before
_LAID = "0015"  # since then keys are spelled otherwise than before
_TOLD = "0016"  # since then a phrase tells whether it breaks octaves, as its cards alone did before


def outdated_line(name: str) -> str:
    """Return what a player is told before a migration."""
    return f"The store {name} is of an older drillbox and is being brought up to date."


def alembic_config() -> Config:
    """Return alembic's configuration for the shipped migrations."""
    made = Config()
    made.set_main_option("script_location", str(shipped("migrations")).replace("%", "%%"))
    return made


def is_known_revision(revision: str) -> bool:
    """Return whether a stored revision is one of the shipped migrations."""
    walked = ScriptDirectory.from_config(alembic_config()).walk_revisions()
    return any(revision == each.revision for each in walked)


def refuse_newer(stored: str, name: str) -> None:
    """Raise StoreFailure if the store is newer than the program."""
    if not is_known_revision(stored):
        raise StoreFailure(
            f"The store {name} was written by a newer drillbox (schema {stored})",
            UPDATE,
        )


def upgrade(connection: Connection, name: str, tick: Tick = silent) -> None:
    """Migrate to the newest schema, within the transaction that the caller has begun.

    ``tick`` hears of the cards, then of the phrases, that are brought to today's rules. Raises
    StoreFailure if the data don't fit; the caller's transaction then takes all back.
    """
    setup = alembic_config()
    setup.attributes["connection"] = connection
    had = MigrationContext.configure(connection).get_current_revision()
    try:
        command.upgrade(setup, "head")
        if had is not None and had < _RECKONED:
            reckon(connection, tick=tick)
        if had is not None and had < _TOLD:
            _tell_octave_breaks(connection)
        if had is not None and had < _LAID:
            _lay_anew(connection, tick)
    except DBAPIError as problem:
        if failure(problem, name):
            raise
        raise StoreFailure(
            f"The store {name} can't be brought to the newest schema ({problem.orig});"
            " nothing was changed",
            "Go on with the drillbox that wrote it, and tell its makers.",
        ) from problem


def _lay_anew(connection: Connection, tick: Tick) -> None:
    """Spell every card's chart and line by today's rules."""
    instrument = CONCERT
    with suppress(BadInput):  # one that can't be used is left out
        instrument = find_instrument(str(settings_in(connection).get("instrument", CONCERT.name)))
    lay_all(connection, instrument.sounding_range, tick)


def _tell_octave_breaks(connection: Connection) -> None:
    """Note of each phrase whether the lines of its cards break octaves; what can't be read stays
    as it is."""
    words = query("SELECT line FROM card WHERE phrase_id = :id")
    for number in connection.execute(query("SELECT id FROM phrase")).scalars().all():
        with suppress(*ILLEGIBLE):
            phrase = record_from(connection.execute(query(ONE), {"id": number}).one()).phrase
            lines = connection.execute(words, {"id": number}).scalars().all()
            if breaks_anywhere(phrase, map(line_from, lines)):
                values = {"octave_breaks": True, "id": number}
                connection.execute(change(PHRASE.update("octave_breaks")), values)


@contextmanager
def without_foreign_keys(connection: Connection) -> Iterator[None]:
    """Leave foreign keys unenforced inside the block, which must begin its own transaction.

    Rebuilding a parent table with foreign keys on would delete its children, and the pragma
    does nothing inside a transaction.
    """
    driver = raw_connection(connection)
    driver.execute("PRAGMA foreign_keys = OFF")
    try:
        yield
    finally:
        driver.execute("PRAGMA foreign_keys = ON")


def refuse_loose_rows(connection: Connection, name: str) -> None:
    """Raise StoreFailure, and so undo a migration, if a row points at one that isn't there."""
    if broken := connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall():
        raise StoreFailure(
            f"The store {name} has rows that point at rows that aren't there ({len(broken)});"
            " nothing was changed",
            "Restore a backup: drillbox store list",
        )
