"""The summary as JSON for other programs: models that read a summary's values by their names.

``summary.schema.json`` beside this file is what they say as JSON Schema; a test keeps it so.
``version`` goes up when a name is taken away or changes its meaning; new names may come with
any release.
"""

from __future__ import annotations

import json
from datetime import date
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic.json_schema import GenerateJsonSchema

from drillbox.memory.weakness import FINE, LEVEL, UNPLAYED, WEAK
from drillbox.music.keys import Key
from drillbox.practice.standing import ALONE, Level
from drillbox.practice.summing import Kind, Summary
from drillbox.screen.advising import advice_line
from drillbox.screen.look import Look

_DIGITS = 4  # of a share: more than the estimate is good for
_GOAL = "at goal tempo, comes out clean"


def _rounded(share: float | None) -> float | None:
    return None if share is None else round(share, _DIGITS)


Count = Annotated[int, Field(ge=0)]
Share = Annotated[float, Field(ge=0, le=1), BeforeValidator(_rounded)]
Ratio = Annotated[float, Field(ge=0), BeforeValidator(_rounded)]
Day = Annotated[date, Field(json_schema_extra={"pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"})]
KeyName = Annotated[str, BeforeValidator(Key.text)]
Lacks = Annotated[
    Literal["tempo", "memory", "both"] | None,
    BeforeValidator(lambda waits: waits or None),
    Field(validation_alias="waits", description="what it lacks to be owned; null where nothing"),
]


class _Untitled(GenerateJsonSchema):
    """A field's name says enough; a title that repeats it would be noise."""

    def field_title_should_be_set(self, _schema: object) -> bool:
        return False


class _Read(BaseModel):
    model_config = ConfigDict(from_attributes=True)


class Standing(_Read):
    """How a key or a phrase stands."""

    id: Annotated[
        Count,
        Field(
            description="the phrase's number; for a key its pitch class, 12 more in minor and"
            " another 12 for each church mode"
        ),
    ]
    name: str
    verdict: Annotated[str, Field(json_schema_extra={"enum": [WEAK, FINE, UNPLAYED, ALONE]})]
    tries: Annotated[Count, Field(description="first attempts of a day that stand behind it")]
    recalled: Annotated[Count, Field(description="clean and fluent ones among them")]
    share: Annotated[
        Share | None,
        Field(
            description="share recalled under the player's usual conditions, as estimated;"
            " null without tries"
        ),
    ]
    low: Share
    high: Share
    cards: Annotated[Count, Field(description="cards started")]
    owned: Count
    now: Annotated[Share, Field(description=f"mean chance that the first go of today, {_GOAL}")]
    waits_for: Lacks
    tempo_share: Annotated[
        Ratio,
        Field(validation_alias="tempo", description="mean tempo reached as a share of the goal"),
    ]
    due: Annotated[Day, Field(description="the first day on which one is due")]


class Card(_Read):
    """One phrase in one key."""

    phrase: Annotated[Count, Field(validation_alias="phrase_id", description="the phrase's number")]
    title: str
    key: KeyName
    tempo: Annotated[Count, Field(description="quarter notes a minute")]
    goal: Count
    attempts: Count
    now: Annotated[Share, Field(description=f"chance that the first go of today, {_GOAL}")]
    level: Level
    waits_for: Lacks
    owned: bool
    due: Day


class Present(_Read):
    """How things stand today, apart from ability, over the cards started in scope."""

    phrases: Annotated[Count, Field(description="phrases in practice")]
    cards: Annotated[Count, Field(description="cards in scope, started or not")]
    started: Count
    at_goal: Annotated[Count, Field(description="cards that have climbed to their goal tempo")]
    unsure: Annotated[Count, Field(description="those of them that are neither owned nor sure")]
    owned: Count
    now: Annotated[
        Share | None, Field(description=f"mean chance that the first go of today, {_GOAL}")
    ]
    tempo_share: Annotated[
        Ratio | None,
        Field(validation_alias="tempo", description="mean tempo reached as a share of the goal"),
    ]
    due: Annotated[Count, Field(description="keys due today or before")]

    @model_validator(mode="after")
    def _nothing_without_cards(self) -> Self:
        if not self.started:
            self.now = self.tempo_share = None
        return self


class Stretch(_Read):
    """What was played in some days."""

    attempts: Count
    minutes: Annotated[float, Field(ge=0), BeforeValidator(lambda minutes: round(minutes, 1))]
    tries: Annotated[Count, Field(description="first attempts of a day")]
    recalled: Annotated[Count, Field(description="clean and fluent ones among the tries")]


class Named(_Read):
    """A key or a phrase by its name."""

    kind: Literal["key", "phrase"]
    name: str


class Changes(_Read):
    """Days from since on, against as many before them."""

    since: Day
    now: Stretch
    before: Stretch
    started: Annotated[Count, Field(description="keys played for the first time")]
    came_to_be_owned: Annotated[Count, Field(validation_alias="owned")]
    now_weak: Annotated[list[Named], Field(validation_alias="weaker")]
    no_longer_weak: Annotated[list[Named], Field(validation_alias="better")]


class Waiting(_Read):
    """What keys of a phrase, or phrases in the key least clean at goal, wait for to be owned."""

    kind: Literal["phrase", "key"]
    name: str
    waits_for: Annotated[Literal["tempo", "memory", "both"], Field(validation_alias="what")]
    keys: Annotated[Count, Field(description="cards started that lack it")]
    tempo_share: Annotated[
        Ratio,
        Field(
            validation_alias="tempo",
            description="their mean tempo reached as a share of the goal",
        ),
    ]


class Slipping(_Read):
    """A key that other keys come before, as it never stays."""

    title: str
    key: str
    days_clean: Annotated[
        Count, Field(validation_alias="clean", description="days whose first go was clean")
    ]
    days_missed: Annotated[
        Count, Field(validation_alias="missed", description="days whose first go wasn't")
    ]


class Span(_Read):
    """A figure over the days played through: the lowest and the highest that came out."""

    low: Annotated[float, Field(ge=0)]
    high: Annotated[float, Field(ge=0)]


class Whole(_Read):
    """When a phrase is owned in all of its keys."""

    title: str
    earliest: Day
    latest: Annotated[Day | None, Field(description="null where it may be later")]


class Outlook(_Read):
    """How all phrases stand at the end of a day to come, with daily practice."""

    day: Day
    minutes_a_day: Annotated[Count, Field(validation_alias="minutes")]
    started: Span
    at_goal: Span
    owned: Span
    owned_in_all_keys: Annotated[list[Whole], Field(validation_alias="whole")]


class Advice(BaseModel):
    """The next thing to do."""

    kind: Kind
    text: Annotated[str, Field(description="the advice in a sentence")]
    title: Annotated[str | None, Field(description="the card's phrase")]
    key: str | None
    tempo: Annotated[Count | None, Field(description="quarter notes a minute")]
    now: Annotated[
        Share | None, Field(description=f"chance that the first go at it today, {_GOAL}")
    ]


class Scope(_Read):
    """What the summary was narrowed to."""

    phrase: Annotated[
        str | None,
        BeforeValidator(lambda record: record and record.title),
        Field(description="a title"),
    ]
    key: Annotated[KeyName | None, Field(description="such as Bb or F#m")]


class Document(BaseModel):
    """How a player stands. Shares lie between 0 and 1, days are practice days.

    The version goes up when a name is taken away or changes its meaning; new names may come
    with any release.
    """

    model_config = ConfigDict(
        title="drillbox summary --json", json_schema_serialization_defaults_required=True
    )

    format: Literal["drillbox-summary"] = "drillbox-summary"
    version: Literal[2] = 2
    today: Annotated[Day, Field(description="the practice day of the summary")]
    since: Annotated[
        Day, Field(description="attempts before this day were left out of the estimate")
    ]
    scope: Scope
    half_life_days: Annotated[
        float,
        Field(gt=0, description="after so many days an attempt weighs half in the estimate"),
    ]
    interval_level: Annotated[
        float, Field(ge=0, le=1, description="how likely low to high holds the truth")
    ] = LEVEL
    mean: Annotated[
        Share | None,
        Field(
            description="share recalled for the player's mean key and phrase;"
            " null while nothing counts"
        ),
    ]
    keys: Annotated[list[Standing], Field(description="weakest first")]
    phrases: Annotated[list[Standing], Field(description="weakest first")]
    cards: Annotated[list[Card], Field(description="every card started in scope")]
    present: Present
    changes: Changes
    waiting: list[Waiting]
    slipping: Annotated[list[Slipping], Field(description="most missed first")]
    outlook: Annotated[
        Outlook | None,
        Field(description="null where playing it through would take too long"),
    ]
    advice: Advice
    lenient: Annotated[
        bool,
        Field(
            description="whether rough goes seem to be rated clean;"
            " the chances are then of goes rated fluent"
        ),
    ]


def summary_document(summary: Summary) -> dict[str, Any]:
    """Return the summary as values that JSON can hold; shares lie between 0 and 1."""
    advice = summary.advice
    document = Document(
        today=summary.today,
        since=summary.since,
        scope=Scope.model_validate(summary.scope),
        half_life_days=summary.half_life,
        mean=summary.mean,
        keys=[Standing.model_validate(each) for each in summary.keys],
        phrases=[Standing.model_validate(each) for each in summary.phrases],
        cards=[Card.model_validate(each) for each in summary.cells],
        present=Present.model_validate(summary.present),
        changes=Changes.model_validate(summary.changes),
        waiting=[Waiting.model_validate(each) for each in summary.waiting],
        slipping=[Slipping.model_validate(each) for each in summary.slipping],
        outlook=Outlook.model_validate(summary.outlook) if summary.outlook else None,
        advice=Advice(
            kind=advice.kind,
            text=advice_line(advice, summary.mean, Look(ascii=True, plain=True)),
            title=advice.title,
            key=advice.key.text() if advice.key else None,
            tempo=advice.tempo,
            now=advice.now,
        ),
        lenient=summary.lenient,
    )
    return document.model_dump(mode="json")


def summary_schema() -> str:
    """Return the JSON Schema of the summary, as text."""
    made = Document.model_json_schema(
        by_alias=False, mode="serialization", schema_generator=_Untitled
    )
    made = {"$schema": "https://json-schema.org/draft/2020-12/schema", **made}
    return json.dumps(made, ensure_ascii=False, indent=1) + "\n"
