"""The sentences of a summary: what to do next and why, what comes, what changed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from drillbox.memory.forecasting import Range
from drillbox.output import counted
from drillbox.practice.coming import Whole
from drillbox.practice.progress import Changes, Named, Stretch
from drillbox.practice.standing import Present
from drillbox.practice.summing import Advice, Scope, Summary
from drillbox.screen.days import date_text
from drillbox.screen.look import Look, clean
from drillbox.screen.waiting import NAMED, key_text, none_line, title_text

if TYPE_CHECKING:
    from drillbox.practice.library import Lacking

LENIENT = (
    "It looks as if you rate rough goes clean: a key you miss right after playing it is lost as"
    " often as rough. So in these chances, and in the drill's tempos, only fluent counts as clean."
)

GUESSED = "The days ahead are a guess: you've played too little yet to tell how you learn."


def advice_line(advice: Advice, mean: float | None, look: Look) -> str:
    """Return one sentence or two that name the next thing to do."""
    if advice.kind in {"add", "start", "all owned"}:
        return {
            "add": "Next: bring a phrase in with 'drillbox add'.",
            "start": "Next: play a first session with 'drillbox drill'.",
            "all owned": "Nothing stands in the way: you own every key of every phrase, and each is"
            " sure today. Next: bring a new phrase in with 'drillbox add'.",
        }[advice.kind]
    card = _card(advice, look)
    usual = f"{advice.share:.0%} recalled" if advice.share is not None else "weak"
    if mean is not None and advice.share is not None:
        usual += f" against your {mean:.0%}"
    why = {
        "catch up": f"{_piled(advice)}. It starts with {card}",
        "weak key": f"It starts with {card}: {_key(advice, look)} is a weak key of yours ({usual})",
        "weak phrase": f"It starts with {card}: the phrase is weak ({usual})",
        "keep": f"It starts with {card}, to keep it: {advice.now or 0:.0%} clean at goal now",
        "climb": f"It starts with {card}, on the way to its goal: {advice.at or 0:.0%} clean at"
        f" that tempo, {advice.now or 0:.0%} at goal now",
        "new key": f"It starts with a new key, {card}",
    }
    return f"Next: 'drillbox drill'. {why[advice.kind]}."


def _key(advice: Advice, look: Look) -> str:
    return advice.key.text(ascii=look.ascii) if advice.key else ""


def _card(advice: Advice, look: Look) -> str:
    return f"{title_text(advice.title or '', look)} in {_key(advice, look)} at {advice.tempo}"


def _piled(advice: Advice) -> str:
    """Say how much is due, where that is more than a day's practice."""
    found = advice.piled_up
    if found is None:
        return ""
    are = "is" if found.keys == 1 else "are"
    return (
        f"{counted(found.keys, 'key')} at goal tempo {are} due, {found.minutes:.0f} min: more than"
        " your daily minutes"
    )


def outlook_lines(summary: Summary, look: Look) -> list[str]:
    """Say what the next days bring, where it was played through."""
    found, present = summary.outlook, summary.present
    if found is None:
        return ["What the days ahead bring: 'drillbox upcoming'."]
    every = not (summary.scope.phrase or summary.scope.key)

    def figure_text(figure: Range, what: str, now: int) -> str:
        return f"{range_text(figure)} {what}" + (f" ({now} now)" if every else "")

    where = "" if every else ", over all phrases"
    keys = "key" if range_text(found.started) == "1" else "keys"
    minutes = counted(found.minutes, "minute")
    lines = [
        f"By {date_text(found.day)}, at {minutes} a day{where}: about"
        f" {figure_text(found.started, f'{keys} started', present.started)},"
        f" {figure_text(found.at_goal, 'at goal tempo', present.at_goal)},"
        f" {figure_text(found.owned, 'owned', present.owned)}."
    ]
    guessed = [GUESSED] if found.guessed else []
    return guessed + lines + whole_lines(found.whole, look)


def whole_lines(whole: Sequence[Whole], look: Look) -> list[str]:
    """Say when phrases will be owned in all their keys, in at most one line."""
    said = [f"{title_text(each.title, look)} by about {_when(each)}" for each in whole[:NAMED]]
    return [f"Owned in all keys: {'; '.join(said)}."] if said else []


def _when(whole: Whole) -> str:
    early = date_text(whole.earliest)
    if whole.latest is None:
        return f"{early} or later"
    return early if whole.latest == whole.earliest else f"{early} to {date_text(whole.latest)}"


def range_text(figure: Range, to: str = " to ") -> str:
    """Return a range in whole numbers: one number where both ends are the same."""
    low, high = round(figure.low), round(figure.high)
    return str(low) if low == high else f"{low}{to}{high}"


def present_line(present: Present) -> str:
    """Say how things stand now, apart from ability."""
    unsure = f", {present.unsure} of them unsure" if present.unsure else ""
    return (
        f"Today: {present.started} of {present.cards} keys started, {present.at_goal} at goal"
        f" tempo{unsure}, {present.owned} owned; {present.now:.0%} clean at goal now on average;"
        f" tempo {present.tempo:.0%} of goal; {present.due} due."
    )


def change_lines(changes: Changes, today: date, look: Look) -> list[str]:
    """Say what changed: in the last seven days, or since the day that was asked for."""
    week = (today - changes.since).days == 6
    when = "In the last 7 days" if week else f"Since {changes.since}"
    now = changes.now
    if not now.attempts:
        return [f"{when} nothing was played."]
    goes = counted(now.attempts, "go")
    lines = [
        f"{when}: {goes} in {max(1, round(now.minutes))} min; {_shares(now, changes.before)};"
        f" {counted(changes.started, 'new key')} started, {changes.owned} newly owned."
    ]
    if changes.weaker:
        lines.append(f"Weak now, and not a week ago: {_names(changes.weaker, look)}.")
    if changes.better:
        lines.append(f"No longer weak: {_names(changes.better, look)}.")
    return lines


def _shares(now: Stretch, before: Stretch) -> str:
    if now.share is None:
        return "no first go of a day"
    said = f"{now.share:.0%} of first goes clean or fluent"
    return said if before.share is None else f"{said} ({before.share:.0%} in as many days before)"


def _names(named: tuple[Named, ...], look: Look) -> str:
    return ", ".join(
        key_text(each.name, look) if each.kind == "key" else title_text(each.name, look)
        for each in named
    )


def empty_line(summary: Summary, look: Look, lacking: Lacking) -> str | None:
    """Return what to say where there is nothing to sum up; None where there is.

    ``lacking`` is what there is none of where no phrase is in practice.
    """
    if summary.cells:
        return None
    scope = summary.scope
    if scope.phrase and scope.phrase.retired:
        title = clean(scope.phrase.title, 40, ascii=look.ascii)
        return f"'{title}' is retired. 'drillbox retire' with --back brings it back."
    if not summary.present.phrases:
        return none_line(lacking)
    if scope.phrase or scope.key:
        return _nothing_of(scope, summary.present, look)
    phrases = summary.present.phrases
    return (
        f"{counted(phrases, 'phrase')} in {summary.present.cards} keys, and"
        " nothing rated yet. Play a first session with 'drillbox drill'."
    )


def _nothing_of(scope: Scope, present: Present, look: Look) -> str:
    """Say why there is nothing of a phrase, of a key or of one in the other: the key isn't
    drilled, or wasn't played yet."""
    title = title_text(scope.phrase.title, look) if scope.phrase else ""
    key = scope.key.text(ascii=look.ascii) if scope.key else ""
    if key and not present.cards:
        isnt = f"{title} isn't" if title else "None of your phrases is"
        return f"{isnt} drilled in {key}."
    named = " in ".join(each for each in (title, key) if each)
    return f"Nothing of {named} was played yet. New keys start by themselves in 'drillbox drill'."
