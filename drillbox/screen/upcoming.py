"""The days to come: what is scheduled, what will come back, and what more phrases would add."""

from __future__ import annotations

from datetime import date

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.practice.coming import Coming, Day, Peak
from drillbox.screen import style
from drillbox.screen.look import Look
from drillbox.screen.phrases import NO_PHRASES
from drillbox.screen.plots import minutes_text
from drillbox.screen.table import Cell, Column, table

_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def upcoming_screen(coming: Coming, look: Look) -> RenderableType:
    """Draw one row a day, then say when most comes and what more phrases would do."""
    if not coming.anything:
        return Text(NO_PHRASES)
    today = coming.days[0].day
    said = [Text(line) for line in _peaks(coming, today)]
    if look.plain:
        return Group(*(Text(_plain(each, today)) for each in coming.days), *said)
    return Group(_table(coming, today, look), _legend(look), Text(""), *said)


def _table(coming: Coming, today: date, look: Look) -> RenderableType:
    most = max(max(each.minutes, each.expected.minutes) for each in coming.days) or 1.0
    room = max(8, min(44, look.width - 36))
    columns = [
        Column("day"),
        Column("cards", right=True),
        Column("minutes", right=True),
        Column("", least=44),
    ]
    rows: list[list[Cell]] = [
        [
            day_name(each.day, today),
            f"{max(each.expected.cards, each.cards):.0f}",
            minutes_text(max(each.expected.minutes, each.minutes)),
            _bar(each, most, room, look),
        ]
        for each in coming.days
    ]
    return table(columns, rows, look)


def _bar(each: Day, most: float, room: int, look: Look) -> Text:
    solid, light = ("=", "-") if look.ascii else ("█", "░")
    fixed = round(each.minutes / most * room)
    whole = max(fixed, round(each.expected.minutes / most * room))
    return Text.assemble((solid * fixed, style.SOUND), light * (whole - fixed))


def _legend(look: Look) -> Text:
    solid, light = ("=", "-") if look.ascii else ("█", "░")
    return Text(
        f"{solid} scheduled now; {light} will probably come back by then or open anew. The days"
        " are played through in advance, all that is due each day.",
        style.QUIET,
    )


def _plain(each: Day, today: date) -> str:
    return (
        f"{day_name(each.day, today)}: scheduled {each.cards}"
        f" card{'' if each.cards == 1 else 's'}, {minutes_text(each.minutes)} min; expected"
        f" {max(each.expected.cards, each.cards):.0f},"
        f" {minutes_text(max(each.expected.minutes, each.minutes))} min"
    )


def _peaks(coming: Coming, today: date) -> list[str]:
    after = "After today, these days peak" if len(coming.days) > 1 else "That makes"
    lines = [f"{after} at {_peak(coming.peak, today)}.".replace("makes at", "makes")]
    if coming.with_more:
        phrases = f"{_word(coming.adding)} more phrase{'' if coming.adding == 1 else 's'}"
        keys = f"{_word(coming.new_a_day)} new key{'' if coming.new_a_day == 1 else 's'} a day"
        verb = "peaks" if coming.adding == 1 else "peak"
        lines.append(
            f"{phrases[0].upper()}{phrases[1:]} at {keys} {verb} at"
            f" {_peak(coming.with_more, today)}."
        )
    return lines


def _peak(peak: Peak, today: date) -> str:
    minutes = max(1, round(peak.minutes))
    return f"{minutes} minute{'' if minutes == 1 else 's'} on {day_name(peak.day, today)}".replace(
        "on today", "today"
    )


def _word(number: int) -> str:
    return _WORDS[number] if number < len(_WORDS) else str(number)


def day_name(day: date, today: date) -> str:
    """Return a day as a row names it: today, or its weekday and date."""
    return "today" if day == today else f"{day:%a} {day.isoformat()}"
