"""What an edit changes: each thing that changes, and what becomes of the memory."""

from __future__ import annotations

from collections.abc import Iterator

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.symbols.printed import chart_text
from drillbox.output import counted
from drillbox.practice.editing import Plan, Version
from drillbox.screen import style
from drillbox.screen.look import Hanging, Look, clean

NONE = "none"
BROKEN = "broken where the line leaves your range"


def edit_screen(plan: Plan, look: Look) -> RenderableType:
    """Say what changes, before and after, and what is kept in memory."""
    lines: list[RenderableType] = []
    for name, was, becomes in _changes(plan, look):
        if look.plain:
            lines.append(Text(f"{name}: was {was}, becomes {becomes}"))
        elif cell_len(name + was + becomes) + 7 > look.width:
            lines.append(Hanging(f"  {name}: ", was))
            lines.append(Hanging(f"  {' ' * len(name)}  {_to(look)} ", becomes))
        else:
            lines.append(Text(f"  {name}: {was} {_to(look)} {becomes}"))
    return Group(
        Text(clean(plan.record.title, look.width, ascii=look.ascii), style.TITLE),
        *lines,
        *(Text(line) for line in _kept(plan)),
    )


def _to(look: Look) -> str:
    return "->" if look.ascii else "→"


def _changes(plan: Plan, look: Look) -> Iterator[tuple[str, str, str]]:
    before, after = _facts(plan.before, look), _facts(plan.after, look)
    for name, was in before.items():
        if was != after[name]:
            yield name, was, after[name]
    if plan.record.phrase.line != plan.new.phrase.line:
        there, comes = len(plan.record.phrase.line), len(plan.new.phrase.line)
        others = " (others)" if there == comes else ""
        yield "line", counted(there, "note"), f"{counted(comes, 'note')}{others}"


def _facts(version: Version, look: Look) -> dict[str, str]:
    phrase = version.phrase
    away = ", ".join(key.text(ascii=look.ascii) for key in version.aside)
    return {
        "title": clean(phrase.title, ascii=look.ascii),
        "key": phrase.key.text(ascii=look.ascii),
        "meter": phrase.chart.meter.text(),
        "goal": str(phrase.tempo),
        "feel": "double time" if phrase.double_time else "single time",
        "order": version.order,
        "chart": chart_text(phrase.chart, ascii=look.ascii),
        "tags": clean(", ".join(version.tags), ascii=look.ascii) or NONE,
        "put aside": away or NONE,
        "octaves": BROKEN if version.octave_breaks else "kept",
    }


def _kept(plan: Plan) -> Iterator[str]:
    """Yield what is remembered after the edit and what isn't."""
    if plan.afresh:
        begun = (
            "The twelve keys have other notes now, so they start over."
            if plan.moved
            else "All twelve keys start over."
        )
        stay = "stays" if plan.attempts == 1 else "stay"
        yield (
            f"{begun} The {counted(plan.attempts, 'go')} so far {stay} with the former phrase,"
            " which is retired."
        )
    elif plan.wished or plan.moved:
        yield "You haven't played it yet, so nothing is lost."
    elif plan.same_music:
        yield "Every key keeps what you remember of it."
    elif plan.record.phrase.key != plan.new.phrase.key:
        yield "The twelve keys are laid out again; each keeps what you remember of it."
    else:
        yield (
            "Every key keeps what you remember of it: the same line, written better."
            " (--afresh starts over)"
        )
    if plan.record.phrase.tempo != plan.new.phrase.tempo and not plan.afresh:
        yield "The tempo reached stays, as far as the goal allows."
        yield from _owned(*plan.owned)


def _owned(now: int, then: int) -> Iterator[str]:
    """Yield how many keys are owned more or less at the new goal, where that changes."""
    if now != then:
        how = "fewer" if then < now else "more"
        yield f"Owned keys at the new goal: {then}, {abs(then - now)} {how} than now."
