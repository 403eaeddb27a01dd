"""Columns stand in two places for the sake of start-up; here they are held equal."""

from __future__ import annotations

import pytest

from drillbox.store.sql import CARD, STATE, TABLES, Table
from drillbox.store.tables import metadata


def test_every_table_has_the_columns_of_its_model() -> None:
    """The same names in the same order, and of the same types, in ``sql`` and ``tables``."""
    assert {table.name for table in TABLES} == set(metadata.tables)
    for table in TABLES:
        model = metadata.tables[table.name].columns
        assert list(table.columns) == [column.name for column in model]
        for column in model:
            mine = table.columns[column.name]
            assert str(column.type) == str(mine), (table.name, column.name)


def test_a_name_means_the_same_type_in_every_table() -> None:
    """So a query's columns are known by their names alone."""
    seen: dict[str, type] = {}
    for table in TABLES:
        for name, kind in table.columns.items():
            assert seen.setdefault(name, type(kind)) is type(kind), (table.name, name)


def test_the_state_of_a_card_is_of_its_columns() -> None:
    """Whatever replaying sets is a column of the card."""
    assert set(STATE) < set(CARD.columns)


def test_statements_name_every_column() -> None:
    """A row is added with all its columns but the number, and no unknown one is changed."""
    table = Table("words", **{name: CARD.columns[name] for name in ("id", "key", "note")})
    assert table.insert() == "INSERT INTO words (key, note) VALUES (:key, :note)"
    assert table.select() == "SELECT id, key, note FROM words"
    assert table.update("note") == "UPDATE words SET note = :note WHERE id = :id"
    with pytest.raises(AssertionError):
        table.update("text")
