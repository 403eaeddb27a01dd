"""The fields that a document is made of, each as a type: what is read, and its JSON Schema.

A field's schema says how its value is written, and what it means where that needs saying.
"""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from math import inf
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    WithJsonSchema,
)

from drillbox.memory.recall import Recall
from drillbox.music.charts import Chart, chart_from
from drillbox.music.keys import Key, parse_key
from drillbox.music.phrases import (
    HIGHEST_TEMPO,
    LONGEST_TITLE,
    LOWEST_TEMPO,
    MOST_TAGS,
    LineNote,
    check_chart,
    check_tags,
    check_title,
    line_from,
)
from drillbox.music.tunes import MOST_BARS as MOST_BARS_OF_A_TUNE
from drillbox.store.values import FIRST_YEAR, LAST_YEAR, MOST_SECONDS

Schema = dict[str, Any]

UID = "Made at random once; the same in every store that the thing came to."
TEMPO = "Quarter notes a minute."
ZONE = "IANA name of the time zone that the player was in."
POSITION = "Its place in the order in which keys start; 0 is the written key."
VERSION = "Changes whenever an older program couldn't read the document."
SECONDS = "From its screen to its rating."
DUE_AFTER = "The day that it put the card off to."
UNDONE_AT = "When it was undone; such an attempt counts for nothing but stays in the log."
UTC_OFFSET = "How many minutes the player's clock was ahead of UTC; null where not known."
GOAL_THEN = "The phrase's goal tempo at the time; null where not known, as if it were today's."
REACHED = "How far the card had climbed before, in quarter notes a minute."
CHANGED_AT = "When title, tempo, chart or the like last changed; null for never."
TUNE_CHANGED_AT = "When title, tempo or form last changed; null for never."
GIG_CHANGED_AT = "When name, day or tunes last changed; null for never."
RESTORED_AT = "When it was last brought back after having been retired."
ASIDE = "Keys that are put aside: semitones of their tonics above C, at concert pitch."
ALSO = "Other uids that it goes by, as it was written down in other stores, too."
OCTAVE_BREAKS = (
    "Whether the line breaks the octave in keys in which it leaves the range of the player's"
    " instrument; null where not known."
)
NOTE_AT = "When the note was last changed or taken away."
DELETED = "Phrases that were deleted: an import brings none of them back unasked."
FORM = "Its sections with their bars, such as 'A8 A8 B8 A8'; empty where none was given."
SETTINGS = "What the player has set, by name; a setting that isn't here is at its default."
SETTINGS_CHANGED = "When each was last set, or put back to its default."

INSTANT: Schema = {"type": "string", "format": "date-time"}
DAY: Schema = {"type": "string", "format": "date", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}
KEY: Schema = {
    "type": "string",
    "pattern": "^[A-G](b|#)?(m| (Dorian|Phrygian|Lydian|Mixolydian|Locrian))?$",
    "description": "Bb is B flat major, Cm is C minor, D Dorian is in that mode.",
}
RECALL: Schema = {"enum": ["lost", "rough", "clean", "fluent"]}
_FRACTION: Schema = {
    "type": "string",
    "pattern": "^-?[0-9]+(/[0-9]+)?$",
    "description": "Exact, in quarter notes: 3/2 is a dotted quarter.",
}
_NAME: Schema = {
    "type": "string",
    "pattern": "^[A-G](b*|#*)$",
    "description": "A spelled note name: Bb, F#, Abb.",
}
_DEGREE: Schema = {
    "type": "array",
    "minItems": 3,
    "maxItems": 3,
    "prefixItems": [
        {"enum": ["add", "alter", "subtract"]},
        {"type": "integer"},
        {"type": "integer"},
    ],
}
_CHORD: Schema = {
    "description": "No chord (null), or root, kind (a kind-value of MusicXML 4.0), degrees and"
    " bass; what is empty at the end is left out.",
    "oneOf": [
        {"type": "null"},
        {
            "type": "array",
            "minItems": 2,
            "maxItems": 4,
            "prefixItems": [
                _NAME,
                {"type": "string"},
                {"type": "array", "items": _DEGREE},
                _NAME,
            ],
        },
    ],
}
_SPAN: Schema = {
    "type": "array",
    "minItems": 3,
    "maxItems": 4,
    "prefixItems": [_FRACTION, _FRACTION, _CHORD, {"const": 1}],
}
CHART: Schema = {
    "type": "object",
    "required": ["meter", "bars"],
    "additionalProperties": False,
    "properties": {
        "meter": {"type": "string", "pattern": "^[0-9]+/[0-9]+$"},
        "bars": {
            "type": "array",
            "description": "Each bar is a list of spans: start within the bar, length, chord,"
            " and a final 1 for the turnaround.",
            "items": {"type": "array", "items": _SPAN},
        },
    },
}
LINE: Schema = {
    "type": "array",
    "description": "The written notes, at concert pitch: onset from the first full bar (below 0"
    " in a pickup), length (0 for a grace note), pitch with octave (C4 is middle C), and a final"
    " 1 for a note that the player marked as a target. Empty where only the chart came in.",
    "items": {
        "type": "array",
        "minItems": 3,
        "maxItems": 4,
        "prefixItems": [
            _FRACTION,
            _FRACTION,
            {"type": "string", "pattern": "^[A-G](b*|#*)-?[0-9]+$"},
            {"const": 1},
        ],
    },
}
ANALYSIS: Schema = {
    "type": ["object", "null"],
    "description": "What the program found in the line; an import makes it anew.",
}


def _made_anew(what: str, *options: Schema) -> Schema:
    return {"anyOf": list(options), "description": f"{what} An import makes it anew."}


_NONE: Schema = {"type": "null"}
_COUNT: Schema = {"type": "integer", "minimum": 0}
OPENED_DAY = _made_anew("The day of its first attempt.", DAY, _NONE)
LAST_DAY = _made_anew("The day of its latest attempt.", DAY, _NONE)
DUE_DAY = _made_anew("The day on which it is due.", DAY, _NONE)
STABILITY = _made_anew(
    "In days: after so many the chance of recall is 90 % (FSRS-6).",
    {"type": "number", "exclusiveMinimum": 0},
    _NONE,
)
DIFFICULTY = _made_anew("FSRS-6.", {"type": "number", "minimum": 1, "maximum": 10}, _NONE)
CARD_TEMPO = _made_anew(
    "Where it stands, in quarter notes a minute.",
    {"type": "integer", "minimum": LOWEST_TEMPO, "maximum": HIGHEST_TEMPO},
)
CLEAN_RUN = _made_anew("Days in a row whose first go came out clean.", _COUNT)
ATTEMPTS = _made_anew("How many there are, without those undone.", _COUNT)
PROPOSED = "The rating proposed from what was heard; null where nothing could be said of it."
OTHER = "A rating that would have done as well."

LAST_DUE_YEAR = LAST_YEAR + 200  # a card may be due a century later


def _instant(value: object) -> datetime:
    if not isinstance(value, str) or len(value) > 40:
        raise ValueError("an instant such as 2026-03-01T18:00:00Z")
    at = datetime.fromisoformat(value)
    if at.utcoffset() is None or not FIRST_YEAR <= at.year <= LAST_YEAR:
        raise ValueError(f"an instant with its zone, from {FIRST_YEAR} to {LAST_YEAR}")
    return at.astimezone(UTC)


def _day(value: object) -> date:
    if not isinstance(value, str) or len(value) != 10:
        raise ValueError("a day such as 2026-03-01")
    found = date.fromisoformat(value)
    if not FIRST_YEAR - 1 <= found.year <= LAST_DUE_YEAR:  # where 1970 hadn't begun
        raise ValueError(f"a day from {FIRST_YEAR - 1} to {LAST_DUE_YEAR}")
    return found


def _recall(value: object) -> Recall:
    for each in Recall:
        if each.word == value:
            return each
    raise ValueError("lost, rough, clean or fluent")


def _key(value: object) -> Key:
    if not isinstance(value, str):
        raise ValueError("a key such as Bb or Cm")
    return parse_key(value)


def _chart(value: object) -> Chart:
    if not isinstance(value, dict):
        raise ValueError("a chart")
    return check_chart(chart_from(value))


def _tune_chart(value: object) -> Chart:
    if not isinstance(value, dict):
        raise ValueError("a chart")
    return check_chart(chart_from(value), MOST_BARS_OF_A_TUNE)


def _line(value: object) -> tuple[LineNote, ...]:
    if not isinstance(value, list):
        raise ValueError("a list of notes")
    return line_from(value)


def _features(value: dict[str, Any]) -> dict[str, Any]:
    try:
        json.dumps(value, ensure_ascii=False, allow_nan=False).encode()
    except ValueError:
        raise ValueError("finite numbers, and text in UTF-8") from None
    return value


def never_read(schema: dict[str, Any]) -> Any:
    """Return the type of what is described and not read: it is recomputed."""
    return Annotated[Any, PlainValidator(lambda _: None), WithJsonSchema(schema)]


Uid = Annotated[str, Field(pattern=r"^[!-~]{1,64}$", description=UID)]
Instant = Annotated[datetime, PlainValidator(_instant), WithJsonSchema(INSTANT)]
Day = Annotated[date, PlainValidator(_day), WithJsonSchema(DAY)]
KeyName = Annotated[Key, PlainValidator(_key), WithJsonSchema(KEY)]
Tempo = Annotated[int, Field(ge=LOWEST_TEMPO, le=HIGHEST_TEMPO, description=TEMPO)]
Zone = Annotated[str, Field(pattern=r"^[A-Za-z0-9_+/.-]{1,64}$", description=ZONE)]
Count = Annotated[int, Field(ge=0, le=1_000_000)]
Rated = Annotated[Recall, PlainValidator(_recall), WithJsonSchema(RECALL)]
Title = Annotated[
    str,
    BeforeValidator(lambda value: value[:LONGEST_TITLE] if isinstance(value, str) else value),
    Field(min_length=1, max_length=LONGEST_TITLE),
    AfterValidator(check_title),
]
"""One that a merge made longer by a number, as it did once, comes in cut."""
Seconds = Annotated[
    float,
    BeforeValidator(
        lambda value: (
            min(value, MOST_SECONDS) if isinstance(value, int | float) and value != inf else value
        )
    ),
    Field(ge=0, le=MOST_SECONDS, description=SECONDS),
]
"""A go that stood there for longer than a day counts as a day."""
WrittenChart = Annotated[Chart, PlainValidator(_chart), WithJsonSchema(CHART)]
TuneChart = Annotated[Chart, PlainValidator(_tune_chart), WithJsonSchema(CHART)]
WrittenLine = Annotated[tuple[LineNote, ...], PlainValidator(_line), WithJsonSchema(LINE)]

Tags = Annotated[list[str], Field(max_length=MOST_TAGS), AfterValidator(check_tags)]
Aside = Annotated[list[Annotated[int, Field(ge=0, le=11)]], Field(max_length=11, description=ASIDE)]
Features = Annotated[dict[str, Any], Field(max_length=100), AfterValidator(_features)]
Also = Annotated[list[Uid], Field(max_length=1000, description=ALSO)]


class Part(BaseModel):
    """What every item of a document has in common: nothing beside its fields, no coercion."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, allow_inf_nan=False, arbitrary_types_allowed=True
    )
