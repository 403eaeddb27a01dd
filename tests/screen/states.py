"""Every state that a drill's and a round's screens can be in, made from fixed values."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction
from functools import partial
from typing import Any

from rich.console import Console, Group, RenderableType
from rich.text import Text

from drillbox.memory.cards import CardState, TempoState
from drillbox.memory.recall import MemoryState, Recall
from drillbox.music.analysis.hints import hint, hint_title
from drillbox.music.analysis.whole import analyse
from drillbox.music.charts import Meter
from drillbox.music.keys import Key, in_order, parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import parse_pitch
from drillbox.music.symbols.typed import parse_chart
from drillbox.player.controls import CONTROLS, Pedal, foot_of, help_of, while_running
from drillbox.player.in_drill import REST, InDrill
from drillbox.player.in_round import InRound
from drillbox.player.session import UNDO_OR_END
from drillbox.practice.drilling import Recap
from drillbox.practice.hinting import HintView
from drillbox.practice.rating import Rated
from drillbox.practice.standing import Slipping, Waiting
from drillbox.screen.drill import DrillView, drill_lines, drill_screen, hint_lines
from drillbox.screen.footer import help_screen, over_screen, paused_screen
from drillbox.screen.lead_sheet import Sounding
from drillbox.screen.look import Look
from drillbox.screen.recap import recap_screen
from drillbox.screen.round import (
    Place,
    RoundView,
    round_lines,
    round_screen,
)
from drillbox.store.values import CardRecord
from tests.music.shorthand import chart

COMPACT, NARROW, LOW = Look(80, 24), Look(40, 20), Look(80, 10)
LARGE, WIDE, HUGE = Look(100, 30), Look(120, 40), Look(200, 60)
ASCII, LARGE_ASCII, PLAIN = Look(80, 24, ascii=True), Look(120, 40, ascii=True), Look(plain=True)

TODAY = date(2026, 3, 2)
KEY = parse_key("Bb")
CHART = chart("Cm7 F7 | Bbmaj7 G7*")
LONG = chart("Em7b5 | Ebmaj7 Ab7 | Gm7b5 C7 | Dm7b5 G7 | Ebm7 Ab7 | Bbmaj7 G7 | Cm7 F7 | Bb6 F7*")
DENSE = parse_chart(
    "Cm6 Abm7b5 | Abm6 F#7b9 | Bb7sus4 Gbmaj7 | Gb7sus4 Ebm7b5 | F#7sus4 Eb7sus4 | Abm7 F#6 | "
    "Eb7#11 F#6 | F#maj7 Dbdim7",
    Meter(4, 4),
)
LINE = tuple(
    LineNote(Fraction(place, 2), Fraction(1, 2), parse_pitch(name))
    for place, name in enumerate(("Eb5", "D5", "C5", "Bb4", "A4", "C5", "Eb5", "G5", "F5", "D5"))
)
PHRASE = Phrase("Back stairs", KEY, 132, CHART, LINE)
LISTENING = {"accept", "replay", "heard"}  # what is offered only where drillbox listens
IN_DRILL = [each.action for each in CONTROLS if each.action not in LISTENING]
IN_ROUND = [name for name in IN_DRILL if name not in {"hint", "note"}]
ASKED_FOR = [name for name in IN_ROUND if name not in {"faster", "slower", "start"}]
CARD = DrillView(
    "Back stairs", KEY, CHART, 79, "goal 132, first go today", double_time=False,
    minutes_left=20, foot=foot_of(IN_DRILL),
)  # fmt: skip
BIG = replace(CARD, title="Rain on the skylight", chart=LONG, double_time=True, tempo=104,
              climb="goal 132, go 3")  # fmt: skip
GOING = {"foot": while_running(foot_of(IN_DRILL))}
ROUND_GOING = {"foot": while_running(foot_of(IN_ROUND), "faster", "slower")}
COUNTING = {"sounding": Sounding(-1, 2, 4), "count": 3}
SOUNDING = {"sounding": Sounding(1, 1, 4)}
SAID = "Back stairs in B♭: clean. Next time today at 86."
ROUND = RoundView(
    title="Back stairs",
    places=tuple(map(Place, in_order(KEY, "fourths"))),
    current=0,
    chart=chart("Cm7 F7 | Bbmaj7 C7*"),
    tempo=79,
    double_time=False,
    foot=foot_of(IN_ROUND),
)


def hinted(level: Any, look: Look) -> DrillView:
    """Return the card with a step of the ladder of hints and the player's note."""
    bars = hint(level, CHART, LINE, analyse(PHRASE), ascii=look.ascii)
    shown = HintView(level, hint_title(level, has_line=True), bars)
    return replace(CARD, hint=shown, note="third finger on the A")


def marked(*marks: Any) -> tuple[Place, ...]:
    """Return the round's keys with what became of the first ones."""
    rest = ROUND.places[len(marks) :]
    return (
        tuple(replace(place, mark=mark) for place, mark in zip(ROUND.places, marks, strict=False))
        + rest
    )


RUNNING = replace(
    ROUND, places=marked("clean", "to rate"), current=2, chart=chart("Bbm7 Eb7 | Abmaj7 Bb7*"),
    message="Back stairs in B♭: clean.", **SOUNDING, **ROUND_GOING,
)  # fmt: skip
ASKING = replace(
    ROUND,
    places=marked("clean", "to rate", "rough", "left", "lost", "fluent", *["to rate"] * 6),
    current=1, chart=chart("Fm7 Bb7 | Ebmaj7 F7*"), asking=True, foot=foot_of(ASKED_FOR),
)  # fmt: skip


def drawn(views: dict[str, Any], draw: Callable[[Any, Look], Any]) -> dict[str, Any]:
    """Return what draws each state, by name."""
    return {name: (lambda look, view=view: draw(view, look)) for name, view in views.items()}


def lines_of(said: Callable[[Any, Look], list[str]]) -> Callable[[Any, Look], RenderableType]:
    """Return what puts plain lines on a screen."""
    return lambda view, look: Group(*(Text(line) for line in said(view, look)))


DRILLS = drawn(
    {
        "card": CARD,
        "counting": replace(CARD, **COUNTING, **GOING),
        "beat": replace(CARD, **SOUNDING, **GOING),
        "message": replace(CARD, message=SAID),
        "rest": replace(CARD, message=f"{SAID} {REST}"),
        "long": BIG,
        "dense-beat": replace(CARD, chart=DENSE, sounding=Sounding(3, 1, 4), message=SAID, **GOING),
        "long-beat": replace(BIG, sounding=Sounding(5, 6, 8), **GOING),
        "long-title": replace(CARD, title="A title that is rather longer than forty columns are"),
    },
    drill_screen,
)
ROUNDS = drawn(
    {
        "round": ROUND,
        "round-counting": replace(ROUND, **COUNTING, **ROUND_GOING),
        "round-running": RUNNING,
        "round-rating": ASKING,
        "round-last": replace(ROUND, current=11, chart=chart("Gm7 C7 | Fmaj7 G7*")),
    },
    round_screen,
)
PEDAL_TOLD = (*InRound.notes, *Pedal("start", "clean").notes(IN_ROUND))
BETWEEN = {
    "help": partial(help_screen, help_of(IN_DRILL, in_round=False), InDrill.notes),
    "paused": paused_screen,
    "over": partial(over_screen, "Time is up", UNDO_OR_END, SAID),
    "round-help": partial(help_screen, help_of(IN_ROUND, in_round=True), InRound.notes),
    "round-help-pedal": partial(help_screen, help_of(IN_ROUND, in_round=True), PEDAL_TOLD),
    "round-help-pedal-2": partial(
        help_screen, help_of(IN_ROUND, in_round=True), PEDAL_TOLD, page=1
    ),
    "round-over": partial(over_screen, InRound.over_heading, UNDO_OR_END, ""),
}


def rated(
    card_id: int, key: Key, tempo: int, recall: Recall, due: date, clean_run: int = 0
) -> Rated:
    """Return a rating of the phrase in a key, with the days in a row that began clean by then."""
    before = CardState(None, TempoState(79))
    memory = MemoryState(8.0, 5.0, TODAY)
    after = CardState(memory, TempoState(86), 1, due, clean_run=clean_run)
    record = CardRecord(
        card_id, 1, "u", "Back stairs", key, 0, 0, CHART, (), 132, False, TODAY, before, None
    )
    return Rated(record, tempo, recall, "1", before, after)


RECAP = Recap(
    (
        rated(1, KEY, 72, Recall.ROUGH, date(2026, 3, 3)),
        rated(1, KEY, 79, Recall.CLEAN, date(2026, 3, 4)),
        rated(2, parse_key("Eb"), 72, Recall.LOST, date(2026, 3, 3)),
        rated(3, parse_key("F#"), 92, Recall.FLUENT, date(2026, 6, 20), clean_run=1),
    ),
    12.6, ((date(2026, 3, 3), 4), (date(2026, 3, 4), 1)), TODAY, all_done=False,
    waiting=(Waiting("phrase", "Back stairs", "both", 3, 0.62),),
    slipping=(Slipping("Back stairs", "Eb", 1, 12),),
)  # fmt: skip
DONE = replace(RECAP, all_done=True, waiting=(), slipping=())
RECAPS = {
    "recap": lambda look: recap_screen(RECAP, look),
    "recap-done": lambda look: recap_screen(DONE, look),
    "recap-empty": lambda look: recap_screen(replace(DONE, attempts=()), look),
}
SAID_PLAINLY = {
    "card": lambda look: lines_of(drill_lines)(CARD, look),
    "hint": lambda look: lines_of(hint_lines)(hinted(3, look), look),
    "round": lambda look: lines_of(round_lines)(RUNNING, look),
    "recap": RECAPS["recap"],
    "recap-done": RECAPS["recap-done"],
}
HINTS = {
    f"hint-{level}": (lambda look, level=level: drill_screen(hinted(level, look), look))
    for level in (1, 2, 3)
}
EVERY = DRILLS | HINTS | BETWEEN | ROUNDS | RECAPS
IN_LARGE = DRILLS | ROUNDS | {"hint-2": HINTS["hint-2"]}


def states() -> Iterator[tuple[str, Look, Callable[[Look], RenderableType]]]:
    """Yield the name of each golden screen, how it may look, and what draws it."""
    for size, look, drawings in (
        ("80x24", COMPACT, EVERY),
        ("40x20", NARROW, EVERY),
        ("80x10", LOW, {name: EVERY[name] for name in ("card", "beat", "rest", "round-running")}),
        ("100x30", LARGE, IN_LARGE),
        ("120x40", WIDE, IN_LARGE),
        ("200x60", HUGE, IN_LARGE),
        ("80x24-ascii", ASCII, EVERY),
        ("120x40-ascii", LARGE_ASCII, IN_LARGE),
        ("plain", PLAIN, SAID_PLAINLY),
    ):
        for name, draw in drawings.items():
            yield f"{name}-{size}", look, draw


def shown(look: Look, draw: Callable[[Look], RenderableType]) -> str:
    """Return a screen as text, blanks at the ends of lines left out."""
    console = Console(width=look.width, no_color=True, highlight=False, markup=False, emoji=False)
    with console.capture() as captured:
        console.print(draw(look), soft_wrap=look.plain)
    return "".join(f"{line.rstrip()}\n" for line in captured.get().splitlines())
