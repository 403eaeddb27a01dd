"""The days to come: what the drill will do, and what more phrases would add."""

from __future__ import annotations

from datetime import date

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.memory.forecasting import Load, Range
from drillbox.output import counted
from drillbox.practice.coming import Coming, Day
from drillbox.practice.library import Lacking
from drillbox.screen import style
from drillbox.screen.advising import GUESSED, range_text, whole_lines
from drillbox.screen.days import date_text
from drillbox.screen.look import Look
from drillbox.screen.plots import minutes_text
from drillbox.screen.table import Column, Content, table
from drillbox.screen.waiting import none_line

_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
SHORT = 0.9  # of the daily minutes: a session that takes less ends early


def upcoming_screen(coming: Coming, look: Look, *, lacking: Lacking = "phrases") -> RenderableType:
    """Draw one row a day, then say where that leads and what more phrases would do.

    ``lacking`` is what there is none of where nothing comes.
    """
    if not coming.cards:
        return Text(none_line(lacking))
    today = coming.days[0].day
    said = [Text(line) for line in _sentences(coming, look)]
    if look.plain:
        return Group(*(Text(_plain(each, today)) for each in coming.days), *said)
    return Group(_table(coming, today, look), _legend(look), Text(""), *said)


def _table(coming: Coming, today: date, look: Look) -> RenderableType:
    columns = [
        Column("day"),
        Column("keys", right=True),
        Column("new", right=True),
        Column("goes", right=True, least=60),
        Column("minutes", right=True, least=36),
        Column("owned", right=True),
        Column("", least=70),
    ]
    room = max(8, min(30, look.width - 52))
    rows: list[list[Content]] = [
        [
            day_name(each.day, today),
            *_played(each, look),
            _short(each.expected.owned, look),
            _bar(each, coming.cards, room, look),
        ]
        for each in coming.days
    ]
    return table(columns, rows, look)


def _played(each: Day, look: Look) -> list[str]:
    """Return the figures of what will be played on a day; a dash each, where nothing more is."""
    load = each.expected
    if _is_over(load):
        return [look.dash] * 4
    figures = [_short(figure, look) for figure in (load.keys, load.new, load.goes)]
    return [*figures, minutes_text(load.minutes.mean)]


def _is_over(load: Load) -> bool:
    """Return whether the minutes of a day, today, have been played."""
    return not load.goes.high


def _short(figure: Range, look: Look) -> str:
    return range_text(figure, look.dash)


def _bar(each: Day, cards: int, room: int, look: Look) -> Text:
    """Return the keys owned and those at goal besides, as a share of all."""
    owned = round(each.expected.owned.mean / cards * room)
    there = max(owned, round(each.expected.at_goal.mean / cards * room))
    started = max(there, round(each.expected.started.mean / cards * room))
    solid, light, dot = ("#", "=", ".") if look.ascii else ("█", "▒", "·")
    return Text.assemble(
        (solid * owned, style.SOUND),
        light * (there - owned),
        (dot * (started - there), style.QUIET),
    )


def _legend(look: Look) -> Text:
    solid, light, dot = ("#", "=", ".") if look.ascii else ("█", "▒", "·")
    bars = f"Of all keys at the day's end: {solid} owned, {light} at goal tempo, {dot} started. "
    return Text(
        (bars if look.width >= 70 else "")
        + "Likely if you keep up, as the drill would choose; where the runs differ,"
        " from the lowest to the highest.",
        style.QUIET,
    )


def _plain(each: Day, today: date) -> str:
    load = each.expected
    keys, goes = range_text(load.keys), range_text(load.goes)
    what = (
        "your minutes are played"
        if _is_over(load)
        else f"{keys} {'key' if keys == '1' else 'keys'}, {range_text(load.new)} new,"
        f" {goes} {'go' if goes == '1' else 'goes'}, {minutes_text(load.minutes.mean)} min"
    )
    return (
        f"{day_name(each.day, today)}: {what};"
        f" then {range_text(load.at_goal)} at goal tempo, {range_text(load.owned)} owned"
    )


def _sentences(coming: Coming, look: Look) -> list[str]:
    last = coming.days[-1]
    over = _is_over(coming.days[0].expected) and not look.plain
    lines = [
        *(["Today's minutes are played."] if over else []),
        *([GUESSED] if coming.guessed else []),
        f"By {date_text(last.day)}: {range_text(last.expected.started)} of {coming.cards} keys"
        f" started, {range_text(last.expected.at_goal)} at goal tempo ({coming.at_goal} now),"
        f" {range_text(last.expected.owned)} owned ({coming.owned} now).",
        *whole_lines(coming.whole, look),
        *_early(coming),
    ]
    if coming.with_more:
        lines.append(_with_more(coming, last.expected, coming.with_more))
    return lines


def _with_more(coming: Coming, alone: Load, more: Load) -> str:
    phrases = f"{_word(coming.adding)} more phrase{'' if coming.adding == 1 else 's'}"
    if more.started.mean <= alone.started.mean:
        them = "its keys" if coming.adding == 1 else "their keys"
        return f"{phrases.capitalize()} would have to wait: none of {them} would start by then."
    return (
        f"With {phrases} in the same minutes: {range_text(more.started)} keys started,"
        f" {range_text(more.at_goal)} at goal tempo, {range_text(more.owned)} owned by then"
        f"{_price(alone.owned, more.owned)}."
    )


def _price(alone: Range, more: Range) -> str:
    """Say how many fewer or more keys are owned with more phrases, where all runs agree on it:
    where the two ranges meet, it may be chance."""
    if more.low <= alone.high and alone.low <= more.high:
        return ""
    change = round(more.mean - alone.mean)
    return f", {abs(change)} {'fewer' if change < 0 else 'more'} owned than without"


def _early(coming: Coming) -> list[str]:
    """Say from when on a session is over before its minutes are, as no go fits into the rest."""
    after = coming.days[1:]
    short = [each for each in after if each.expected.minutes.mean < SHORT * coming.minutes]
    if not after or not short:
        return []
    some = (
        "Sessions"
        if len(short) == len(after)
        else f"From {date_text(short[0].day)} on some sessions"
    )
    minutes = counted(coming.minutes, "minute")
    return [f"{some} may end before their {minutes}, where the next go wouldn't fit."]


def _word(number: int) -> str:
    return _WORDS[number] if number < len(_WORDS) else str(number)


def day_name(day: date, today: date) -> str:
    """Return a day as a row names it: today, or its weekday and date."""
    return "today" if day == today else f"{day:%a} {date_text(day)}"
