"""The open document: what it holds, in a fixed order, as its schema says."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from drillbox.errors import BadInput
from drillbox.memory.recall import Recall
from drillbox.store.access import Store
from drillbox.store.checked import checked, schema
from drillbox.store.documents import LISTS, snapshot, text_of
from drillbox.store.opening import open_store
from drillbox.store.setting_rows import set_setting
from tests.store.making import NOW, add, go, session
from tests.store.reading import document
from tests.store.test_upgrading import RELEASED, released

SCHEMA = json.loads(schema())


@pytest.fixture
def full(tmp_path: Path) -> dict[str, Any]:
    """The document of a store with everything in it: notes, undone and retired things, settings."""
    place = released(RELEASED[-1], tmp_path / "store.sqlite3")
    with open_store(place, now=NOW, backups=False) as store:
        return document(store)


def test_a_document_is_what_its_schema_says(full: dict[str, Any]) -> None:
    """The published JSON Schema is one, and holds for a store with everything in it."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    jsonschema.validate(full, SCHEMA)
    assert [len(full[part]) for part in ("phrases", "deleted", "sessions", "attempts")] == [
        3,
        1,
        6,
        22,
    ]


def test_an_empty_store_has_a_document_too(store: Store) -> None:
    """Empty lists, not missing ones."""
    data = document(store)
    jsonschema.validate(data, SCHEMA)
    assert data == {
        "format": "drillbox", "version": 3, "phrases": [], "sessions": [], "attempts": [],
        "settings": {}, "settings_changed": {}, "deleted": [],
        "tunes": [], "gigs": [], "deleted_tunes": [], "deleted_gigs": [],
    }  # fmt: skip


@pytest.mark.parametrize(
    ("part", "name"), [("phrases", "uid"), ("attempts", "recall"), ("sessions", "zone")]
)
def test_the_schema_refuses_what_lacks_something(
    full: dict[str, Any], part: str, name: str
) -> None:
    """A schema that took anything would document nothing."""
    del full[part][0][name]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(full, SCHEMA)


def test_an_attempt_stands_in_it_by_words_and_uids(store: Store) -> None:
    """No number of a row, no number of a recall: what another program needs to read it."""
    (phrase,) = add(store, "Late kettle")
    (made,) = go(store, 2, session(store), (Recall.ROUGH,))
    (found,) = document(store)["attempts"]
    assert {name: found[name] for name in ("uid", "phrase", "key", "at", "day", "recall")} == {
        "uid": made.uid,
        "phrase": phrase.uid,
        "key": "Eb",
        "at": "2026-03-01T18:00:00.000000Z",
        "day": "2026-03-01",
        "recall": "rough",
    }
    assert found["due_after"] == "2026-03-04"
    assert "id" not in found


def test_the_same_store_gives_the_same_document(store: Store) -> None:
    """Twice over, and from another connection."""
    add(store, "Late kettle", "Blue door")
    go(store, 1, session(store), (Recall.ROUGH, Recall.CLEAN))
    set_setting(store, "b", 1)
    set_setting(store, "a", "x")
    one = json.dumps(document(store))
    with open_store(store.place, now=NOW) as other:
        assert json.dumps(document(other)) == one
    assert list(document(store)["settings"]) == ["a", "b"]


def test_the_text_of_a_document_is_json(full: dict[str, Any], tmp_path: Path) -> None:
    """Written item by item it says what the whole does, each item on a line of its own."""
    with open_store(tmp_path / "store.sqlite3", now=NOW) as store, snapshot(store) as found:
        text = "".join(text_of(found.members()))
    assert json.loads(text) == full
    assert len(text.splitlines()) == 6 + sum(2 + len(full[part]) for part in LISTS)


def attempt(**values: Any) -> dict[str, Any]:
    """Return an attempt of a document, with other values."""
    usual = {
        "uid": "a", "phrase": "p", "key": "C", "session": "s", "at": "2026-03-01T18:00:00Z",
        "zone": "Europe/Lisbon", "day": "2026-03-01", "recall": "rough", "tempo": 100, "hint": 0,
        "seconds": 30, "loops": 2, "in_round": False, "due_after": "2026-03-04",
        "undone_at": None,
    }  # fmt: skip
    return usual | values


def test_instants_are_read_with_any_offset() -> None:
    """As UTC; one without a zone is refused, and a year that no clock shows."""
    for text in ("2026-03-01T18:00:00.000000Z", "2026-03-01T19:00:00+01:00"):
        assert checked("attempts", 1, attempt(at=text)).at == NOW
    for text in ("2026-03-01T18:00:00", "9999-12-31T23:59:59Z", "0026-03-01T18:00:00Z", 0):
        with pytest.raises(BadInput, match="attempts, number 7: at: "):
            checked("attempts", 7, attempt(at=text))


def test_seconds_without_end_are_a_day() -> None:
    """However long a number a document has; infinite, negative or none at all they are refused."""
    for seconds in (86_401, 1e308, 10**400):
        assert checked("attempts", 1, attempt(seconds=seconds)).seconds == 86_400
    for seconds in (float("inf"), float("nan"), -1, -(10**400), "long"):
        with pytest.raises(BadInput, match="attempts, number 1: seconds: "):
            checked("attempts", 1, attempt(seconds=seconds))


@pytest.mark.parametrize("wrong", [float("inf"), float("nan"), "\ud800", ["\ud800"]])
def test_what_was_heard_is_what_a_store_and_json_can_hold(wrong: object) -> None:
    """1e999 is a number in JSON and infinite here, and half a character is no text."""
    heard = {"ear": "midi", "proposed": "clean", "other": None}
    fine = {"missed": 2, "late": [0.5], "causes": {"slow": 1}}
    found = checked("attempts", 1, attempt(heard={**heard, "features": fine})).heard
    assert found.features == fine
    with pytest.raises(BadInput, match="features: finite numbers, and text in UTF-8"):
        checked("attempts", 1, attempt(heard={**heard, "features": {"late": wrong}}))


@pytest.mark.parametrize("aside", [[12], [-1], [*range(11), 0]])
def test_a_key_put_aside_is_one_of_twelve_and_never_all_are(full, aside: list[int]) -> None:
    """0 for C to 11 for B, at most eleven of them; a document with others is refused."""
    phrase = full["phrases"][0]
    for fine in ([0], [11], list(range(11)), list(range(1, 12))):
        assert checked("phrases", 1, phrase | {"aside": fine}).aside == fine
    with pytest.raises(BadInput, match="phrases, number 3: aside"):
        checked("phrases", 3, phrase | {"aside": aside})
