"""The summary as JSON: its schema is what its models say, and a document is what it was."""

from __future__ import annotations

import json
import os
from pathlib import Path

import jsonschema

import drillbox.screen
from drillbox.practice.summing import Summary
from drillbox.screen.summary_json import summary_document, summary_schema

FILE = Path(drillbox.screen.__file__).parent / "summary.schema.json"


def test_the_schema_file_says_what_the_models_say() -> None:
    """It is written by them: ``DRILLBOX_REWRITE_GOLDEN=1`` brings it up to date."""
    if os.environ.get("DRILLBOX_REWRITE_GOLDEN"):
        FILE.write_text(summary_schema(), encoding="utf-8")
    assert FILE.read_text(encoding="utf-8") == summary_schema()


def test_a_past_told_keeps_to_the_schema_and_says_all_that_it_knows(past_summary: Summary) -> None:
    """Every name is required, shares are rounded, days are ISO, an advice is a sentence."""
    found = summary_document(past_summary)
    jsonschema.validate(found, json.loads(summary_schema()), cls=jsonschema.Draft202012Validator)
    assert set(found) == set(json.loads(summary_schema())["required"])
    first, told = past_summary.phrases[0], found["phrases"][0]
    assert told["tempo_share"] == round(first.tempo, 4)
    assert told["waits_for"] == (first.waits or None)
    assert told["due"] == first.due.isoformat()
    cell, card = past_summary.cells[0], found["cards"][0]
    assert (card["phrase"], card["key"]) == (cell.phrase_id, cell.key.text())
    assert found["changes"]["came_to_be_owned"] == past_summary.changes.owned
    assert found["outlook"]["minutes_a_day"] == past_summary.outlook.minutes
    assert found["advice"]["text"].endswith(".")
