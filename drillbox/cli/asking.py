"""A phrase from what was typed, asking step by step for what is missing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from drillbox.cli.context import Asked
from drillbox.errors import BadInput
from drillbox.output import tell

if TYPE_CHECKING:
    from drillbox.music.charts import Chart
    from drillbox.music.phrases import Phrase

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Typed:
    """What stood on the command line about the phrase; None where nothing did."""

    title: str | None
    key: str | None
    tempo: str | None
    meter: str | None
    chart: str | None
    double_time: bool


def from_typing(options: Asked, typed: Typed) -> Phrase:
    """Return the phrase that was typed, asking for what is missing where there is a terminal."""
    from drillbox.practice.adding import typed_phrase

    if typed.chart is not None:
        say_readings(typed.chart)
    missing = [n for n in ("title", "key", "tempo", "chart") if getattr(typed, n) is None]
    if not missing:
        return typed_phrase(
            title=typed.title or "",
            key=typed.key or "",
            tempo=typed.tempo or "",
            chart=typed.chart or "",
            meter=typed.meter or "4/4",
            double_time=typed.double_time,
        )
    if not options.terminal.interactive:
        wanted = ", ".join(f"--{name}" for name in missing)
        raise BadInput(f"A phrase needs {wanted}", "Add all four, or name a file.")
    return step_by_step(typed, set(missing))


def step_by_step(typed: Typed, missing: set[str]) -> Phrase:
    """Ask for each missing thing until it is right; raise Interrupted if the player leaves."""
    from drillbox.music.keys import parse_key
    from drillbox.music.phrases import Phrase, check_title
    from drillbox.music.symbols.typed import parse_chart, parse_meter
    from drillbox.practice.adding import check_tempo

    alone = "chart" in missing
    title = asking("Title", check_title, typed.title)
    key = asking("Written key (Bb, F#, Cm)", parse_key, typed.key)
    tempo = asking("Goal tempo, quarter notes a minute", check_tempo, typed.tempo)
    given = typed.meter or (None if alone else "4/4")
    meter = asking("Meter", parse_meter, given, default="4/4")

    def read_chart(text: str) -> Chart:
        chart = parse_chart(text, meter)
        if alone:
            say_readings(text)
        return chart

    chart = asking("Chart, as in  Dm7 G7 | Cmaj7 (A7)", read_chart, typed.chart)
    double = typed.double_time or (alone and asking("Double time? y/n", yes_or_no, None, "n"))
    return Phrase(title, key, tempo, chart, double_time=double)


def say_readings(chart: str) -> None:
    """Say on stderr how symbols of a typed chart are read that others may mean otherwise."""
    from drillbox.music.symbols.typed import readings

    for told in readings(chart):
        tell(told)


def asking(prompt: str, read: Callable[[str], T], given: str | None, default: str = "") -> T:
    """Return what ``read`` makes of the given text, or of the first answer that it takes."""
    from drillbox.terminal.line_input import ask

    while True:
        try:
            return read(given if given is not None else ask(prompt, default))
        except BadInput as problem:
            if given is not None:
                raise
            tell(f"  {problem.line()}")


def yes_or_no(text: str) -> bool:
    """Read y or n; raise BadInput for anything else."""
    answer = text.strip().casefold()
    if answer in {"y", "yes"}:
        return True
    if answer in {"n", "no"}:
        return False
    raise BadInput(f"{text!r} is neither y nor n", "Press y or n, then Enter.")


def agreed(options: Asked, title: str, yes: bool, more: str = "") -> bool:
    """Return whether the player wants it deleted; without a terminal only --yes says so.

    ``more`` is what the question says behind the title.
    """
    if yes:
        return True
    if not options.terminal.interactive:
        raise BadInput(f"Deleting {title!r} needs a yes", "Add --yes.")
    return asking(f"Delete {options.cleaned(title)}{more}? y/n", yes_or_no, None, "n")
