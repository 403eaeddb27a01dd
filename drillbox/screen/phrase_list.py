"""Lists of phrases, and one phrase in its keys."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.keys import parse_key
from drillbox.practice.library import CardView, PhraseView
from drillbox.screen import style
from drillbox.screen.days import due_text
from drillbox.screen.lead_sheet import bar_lines, facts_line
from drillbox.screen.look import Look, clean
from drillbox.screen.phrase_analysis import analysis_screen
from drillbox.screen.table import Column, table
from drillbox.store.values import PhraseOverview

ASIDE, NEW, NEW_IN_SHORT = "put aside", "not started yet", "new"
NARROW = 50
BESIDE = 64  # columns that leave room for charts beside what else is said of a key


def phrase_list(phrases: Sequence[PhraseOverview], today: date, look: Look) -> RenderableType:
    """List phrases: number, title, written key, goal, keys opened, tempo, when the next is due.

    The tempo is the share of the goal that the opened keys have reached.
    """
    columns = [
        Column("no.", right=True),
        Column("phrase", wide=True),
        Column("key"),
        Column("goal", right=True, least=44),
        Column("started", right=True, least=50),
        Column("tempo", right=True, least=78),
        Column("goes", right=True, least=70),
        Column("due", right=True, alone=("new",)),
    ]
    rows = [
        (
            str(each.id),
            f"{each.title} ({', '.join(each.tags)})" if each.tags else each.title,
            parse_key(each.key).text(ascii=look.ascii),
            str(each.tempo),
            f"{each.opened} of {each.cards}",
            f"{each.reached / each.tempo:.0%}" if each.reached else look.dash,
            str(each.attempts),
            due_text(each.next_due, today) if each.next_due else "new",
        )
        for each in phrases
    ]
    return table(columns, rows, look)


def phrase_screen(view: PhraseView, look: Look, *, notes: bool = False) -> RenderableType:
    """Show one phrase: its facts, its chart, what is in it, and each key with where it stands."""
    phrase = view.phrase
    facts = facts_line(phrase, look) + (f" {look.dot} retired" if view.retired else "")
    lines = bar_lines(phrase.chart, look, look.width - 2)
    chance = "clean\nat goal" if look.width < NARROW and not look.plain else "clean at goal"
    columns = [
        Column("key"),
        Column("tempo", right=True),
        Column(chance, right=True),
        Column("goes", right=True, least=50),
        Column("due", right=True, alone=(ASIDE, NEW, NEW_IN_SHORT)),
        Column("chart", wide=True, wraps=True, least=BESIDE),
    ]
    return Group(
        Text(clean(phrase.title, look.width, ascii=look.ascii), style.TITLE),
        Text(facts),
        Text(""),
        *(Text(f"  {line}", style.CHORD, no_wrap=True) for line in lines),
        Text(""),
        *analysis_screen(view.content, look, notes=notes),
        table(columns, [_card_row(each, view.today, look) for each in view.cards], look),
        *([] if look.plain or look.width >= BESIDE else [Text(""), _charts(view, look)]),
    )


def _charts(view: PhraseView, look: Look) -> RenderableType:
    """Draw the charts of all keys, for where they have no room beside the rest."""
    rows = [
        (each.key_text(ascii=look.ascii), each.chart_line(ascii=look.ascii)) for each in view.cards
    ]
    return table((Column("key"), Column("chart", wide=True, wraps=True)), rows, look)


def _card_row(card: CardView, today: date, look: Look) -> tuple[str, ...]:
    due = ASIDE if card.aside else due_text(card.due, today) if card.due else look.dash
    if not card.attempts:
        new = NEW_IN_SHORT if look.width < NARROW and not look.plain else NEW
        return (
            card.key_text(ascii=look.ascii),
            look.dash,
            look.dash,
            "0",
            due if card.aside else new,
            card.chart_line(ascii=look.ascii),
        )
    return (
        card.key_text(ascii=look.ascii),
        str(card.tempo) + (" owned" if card.owned else ""),
        look.dash if card.clean is None else f"{card.clean:.0%}",
        str(card.attempts),
        due,
        card.chart_line(ascii=look.ascii),
    )
