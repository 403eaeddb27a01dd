"""The sentences of a summary: what to do next and why, what changed, how memory stands now."""

from __future__ import annotations

from datetime import date

from drillbox.practice.advice import Advice
from drillbox.practice.changes import Changes, Named, Stretch
from drillbox.practice.present import Present
from drillbox.practice.summing import Summary
from drillbox.screen.look import Look, clean


def advice_line(advice: Advice, mean: float | None, today: date, look: Look) -> str:
    """Return one sentence or two that name the next thing to do."""
    if advice.kind in {"add", "start", "all owned"}:
        return {
            "add": "Next: bring a phrase in with 'drillbox add'.",
            "start": "Next: play a first session with 'drillbox drill'.",
            "all owned": "Next: you own every key of every phrase. Bring a new one in with"
            " 'drillbox add'.",
        }[advice.kind]
    card, waiting = _card(advice, look), _waiting(advice)
    usual = f"{advice.share:.0%} recalled" if advice.share is not None else "weak"
    if mean is not None and advice.share is not None:
        usual += f" against your {mean:.0%}"
    return {
        "backlog": f"Next: 'drillbox drill'. {waiting}, more than a day's practice; what has"
        f" faded most is {card}.",
        "weak key": f"Next: {card}. It is due, and {_key(advice, look)} is a weak key of yours"
        f" ({usual}). {waiting}: 'drillbox drill'.",
        "weak phrase": f"Next: {card}. It is due, and the phrase is weak ({usual}). {waiting}:"
        " 'drillbox drill'.",
        "due": f"Next: {card}, the most faded that is due. {waiting}: 'drillbox drill'.",
        "open": f"Next: a new key. Nothing is due, and {card} is ready to open: 'drillbox drill'.",
        "wait": f"Next: rest. Nothing is due {_until(advice.due, today)}; then comes {card}.",
    }[advice.kind]


def _key(advice: Advice, look: Look) -> str:
    return advice.key.text(ascii=look.ascii) if advice.key else ""


def _card(advice: Advice, look: Look) -> str:
    title = clean(advice.title or "", 40, ascii=look.ascii)
    return f"'{title}' in {_key(advice, look)} at {advice.tempo}"


def _waiting(advice: Advice) -> str:
    cards = f"{advice.cards} card{'' if advice.cards == 1 else 's'}"
    return f"{cards} due, {max(1, round(advice.minutes))} min"


def _until(due: date | None, today: date) -> str:
    days = (due - today).days if due else 0
    return "until tomorrow" if days == 1 else f"for {days} days"


def present_line(present: Present) -> str:
    """Say how memory stands now, apart from ability."""
    keys = f"{present.open} of {present.cards} keys open"
    return (
        f"Today: {keys}, {present.owned} owned; {present.now:.0%} recalled now at least roughly,"
        f" {present.under} under your {present.retention:.0%};"
        f" tempo {present.tempo:.0%} of goal; {present.due} due."
    )


def change_lines(changes: Changes, today: date, look: Look) -> list[str]:
    """Say what changed: in the last seven days, or since the day that was asked for."""
    week = (today - changes.since).days == 6
    when = "In the last 7 days" if week else f"Since {changes.since}"
    now = changes.now
    if not now.attempts:
        return [f"{when} nothing was played."]
    attempts = f"{now.attempts} attempt{'' if now.attempts == 1 else 's'}"
    lines = [
        f"{when}: {attempts} in {max(1, round(now.minutes))} min; {_shares(now, changes.before)};"
        f" {changes.opened} new key{'' if changes.opened == 1 else 's'}"
        f" opened, {changes.owned} came to be owned."
    ]
    if changes.weaker:
        lines.append(f"Weak now, and not a week ago: {_names(changes.weaker, look)}.")
    if changes.better:
        lines.append(f"No longer weak: {_names(changes.better, look)}.")
    return lines


def _shares(now: Stretch, before: Stretch) -> str:
    if now.share is None:
        return "no first try of a day"
    said = f"{now.share:.0%} of first tries clean or fluent"
    return said if before.share is None else f"{said} ({before.share:.0%} in as many days before)"


def _names(named: tuple[Named, ...], look: Look) -> str:
    from drillbox.music.keys import parse_key

    return ", ".join(
        parse_key(each.name).text(ascii=look.ascii)
        if each.kind == "key"
        else f"'{clean(each.name, 40, ascii=look.ascii)}'"
        for each in named
    )


def empty_line(summary: Summary, look: Look) -> str | None:
    """Return what to say where there is nothing to sum up; None where there is."""
    if summary.cells:
        return None
    scope = summary.scope
    if scope.phrase and scope.phrase.retired:
        title = clean(scope.phrase.title, 40, ascii=look.ascii)
        return f"'{title}' is retired. 'drillbox retire' with --back takes it in again."
    if not summary.present.phrases:
        return (
            "No phrases yet. Bring one in with 'drillbox add', or look at invented ones:"
            " drillbox --demo summary"
        )
    if scope.phrase or scope.key:
        named = " in ".join(
            [
                *([f"'{clean(scope.phrase.title, 40, ascii=look.ascii)}'"] if scope.phrase else []),
                *([scope.key.text(ascii=look.ascii)] if scope.key else []),
            ]
        )
        return (
            f"Nothing was played yet of {named}. New keys open by themselves in 'drillbox drill'."
        )
    phrases = summary.present.phrases
    return (
        f"{phrases} phrase{'' if phrases == 1 else 's'} in {summary.present.cards} keys, and"
        " nothing rated yet. Play a first session with 'drillbox drill'."
    )
