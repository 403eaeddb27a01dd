"""The recap at the end of a drill session."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.memory.candidates import never_stays
from drillbox.memory.cards import CardState, is_cold
from drillbox.memory.recall import Recall
from drillbox.output import counted
from drillbox.practice.drilling import Recap
from drillbox.practice.rating import Rated
from drillbox.screen import style
from drillbox.screen.days import FAR, due_text
from drillbox.screen.drill import ALL_DONE
from drillbox.screen.look import Look, clean
from drillbox.screen.table import Column, table
from drillbox.screen.waiting import slipping_lines, waiting_lines


def recap_screen(recap: Recap, look: Look) -> RenderableType:
    """Draw what was played, a line to each key, and when the next keys are due."""
    if not recap.attempts:
        return Group(Text("Nothing was rated in this session."), *_closing(recap, look))
    columns = [
        Column("phrase", wide=True),
        Column("key"),
        Column("goes", right=True),
        Column("tempo", right=True),
        Column("first go", least=60),
        Column("last go"),
        Column("due", right=True, least=60),
    ]
    rows = [_row(goes, recap.today, look) for goes in _by_key(recap.attempts)]
    return Group(
        Text(counts_line(recap), style.TITLE),
        Text(""),
        table(columns, rows, look),
        Text(""),
        *_closing(recap, look),
    )


def _closing(recap: Recap, look: Look) -> list[Text]:
    """Say what the phrases that were played wait for, which of their keys never stay, whether all
    is owned, and when keys are due next."""
    lines = waiting_lines(recap.waiting, look) if recap.waiting else []
    lines += slipping_lines(recap.slipping, look)
    if recap.all_done:
        lines.append(ALL_DONE)
    return [Text(line) for line in [*lines, due_line(recap)]]


def _by_key(attempts: Sequence[Rated]) -> Iterable[list[Rated]]:
    """Return the goes at each key together, keys in the order of their first go."""
    found: dict[int, list[Rated]] = {}
    for each in attempts:
        found.setdefault(each.read.id, []).append(each)
    return found.values()


def _row(goes: Sequence[Rated], today: date, look: Look) -> Sequence[str]:
    """Return one key's line: how many goes it had, what the day's first and the last one came to;
    the day's first may have been in a session before this one."""
    first, last = goes[0], goes[-1]
    memory = first.after.memory
    cold = memory is not None and is_cold(first.before, memory.last_day)
    return (
        clean(last.read.title, ascii=look.ascii),
        last.read.key.text(ascii=look.ascii),
        str(len(goes)),
        str(last.tempo),
        first.recall.word if cold else look.dash,
        last.recall.word,
        _comes(last.after, today) or look.dash,
    )


def _comes(card: CardState, today: date) -> str:
    """Say when a key comes again; one whose day began with a miss comes before it is due."""
    if not card.due:
        return ""
    missed = not card.clean_run and not never_stays(card.days_clean, card.days_missed)
    return "soon" if missed and (card.due - today).days > 1 else due_text(card.due, today)


def counts_line(recap: Recap) -> str:
    """Say how many goes there were, in how long, and how they went."""
    counts = Counter(each.recall for each in recap.attempts)
    parts = [f"{counts[recall]} {recall.word}" for recall in Recall if counts[recall]]
    total = len(recap.attempts)
    return f"{counted(total, 'go')} in {max(1, round(recap.minutes))} min: " + ", ".join(parts)


def due_line(recap: Recap) -> str:
    """Say when the first cards are due again; while there is time they come before they are."""
    coming = [(day, count) for day, count in recap.due if count]
    if not coming:
        return "Nothing is due yet."
    day, count = coming[0]
    away = (day - recap.today).days
    when = due_text(day, recap.today) if away < FAR else f"on {day}"
    line = f"Due next: {counted(count, 'key')} {when}."
    return line if away < 2 else f"{line} With time to spare, keys come sooner."
