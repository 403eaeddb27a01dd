"""The fields that a document is made of, each as a type: what is read, and its JSON Schema."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
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
from drillbox.store import form

FIRST_YEAR, LAST_YEAR, LAST_DUE_YEAR = 1970, 2199, 2399  # a card may be due a century later


def _instant(value: object) -> datetime:
    if not isinstance(value, str) or len(value) > 40:
        raise ValueError("an instant such as 2026-03-01T18:00:00Z")
    at = datetime.fromisoformat(value)
    if at.utcoffset() is None or not FIRST_YEAR < at.year < LAST_YEAR:
        raise ValueError(f"an instant with its zone, from {FIRST_YEAR + 1} to {LAST_YEAR - 1}")
    return at.astimezone(UTC)


def _day(value: object) -> date:
    if not isinstance(value, str) or len(value) != 10:
        raise ValueError("a day such as 2026-03-01")
    found = date.fromisoformat(value)
    if not FIRST_YEAR <= found.year <= LAST_DUE_YEAR:
        raise ValueError(f"a day from {FIRST_YEAR} to {LAST_DUE_YEAR}")
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


def never_read(schema: dict[str, Any]) -> Any:
    """Return the type of what is described and not read: it is recomputed."""
    return Annotated[Any, PlainValidator(lambda _: None), WithJsonSchema(schema)]


Uid = Annotated[str, Field(pattern=r"^[!-~]{1,64}$", description=form.UID)]
Instant = Annotated[datetime, PlainValidator(_instant), WithJsonSchema(form.INSTANT)]
Day = Annotated[date, PlainValidator(_day), WithJsonSchema(form.DAY)]
KeyName = Annotated[Key, PlainValidator(_key), WithJsonSchema(form.KEY)]
Tempo = Annotated[int, Field(ge=LOWEST_TEMPO, le=HIGHEST_TEMPO, description=form.TEMPO)]
Zone = Annotated[str, Field(pattern=r"^[A-Za-z0-9_+/.-]{1,64}$", description=form.ZONE)]
Count = Annotated[int, Field(ge=0, le=1_000_000)]
Rated = Annotated[Recall, PlainValidator(_recall), WithJsonSchema(form.RECALL)]
Title = Annotated[str, Field(min_length=1, max_length=LONGEST_TITLE), AfterValidator(check_title)]
WrittenChart = Annotated[Chart, PlainValidator(_chart), WithJsonSchema(form.CHART)]
TuneChart = Annotated[Chart, PlainValidator(_tune_chart), WithJsonSchema(form.CHART)]
WrittenLine = Annotated[tuple[LineNote, ...], PlainValidator(_line), WithJsonSchema(form.LINE)]

Tags = Annotated[list[str], Field(max_length=MOST_TAGS), AfterValidator(check_tags)]
Aside = Annotated[
    list[Annotated[int, Field(ge=0, le=11)]], Field(max_length=11, description=form.ASIDE)
]


class Part(BaseModel):
    """What every item of a document has in common: nothing beside its fields, no coercion."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, allow_inf_nan=False, arbitrary_types_allowed=True
    )
