"""The sentences that say what stands in the way: of owning phrases and keys, of drilling any."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.music.keys import parse_key
from drillbox.output import counted
from drillbox.screen.look import Look, clean

if TYPE_CHECKING:
    from drillbox.practice.library import Lacking
    from drillbox.practice.standing import Slipping, Waiting
    from drillbox.practice.summing import Scope

NAMED = 3  # so many are named in a sentence; more would be a table
WAITS = {"tempo": "tempo", "memory": "memory", "both": "tempo and memory"}
_NONE: dict[Lacking, str] = {
    "phrases": "No phrases yet. Bring one in with 'drillbox add', or look at invented ones: "
    "drillbox --demo phrases",
    "in practice": "All your phrases are retired. See them with 'drillbox phrases --retired'",
}


def none_line(what: Lacking) -> str:
    """Say why there is nothing to drill or to look at."""
    return _NONE[what]


def waiting_lines(
    waiting: tuple[Waiting, ...], look: Look, scope: Scope | None = None
) -> list[str]:
    """Say what phrases and a key seldom clean at goal wait for to be owned, a line for each want.

    The same few phrases are named in all lines, in one that has none of them its first; the rest
    are counted. ``scope`` is what was looked at, None for all.
    """
    if not waiting:
        return [f"{_looked_at(scope, look)} is owned."]
    titles = dict.fromkeys(each.name for each in waiting if each.kind == "phrase")
    named = list(titles)[:NAMED]
    lines = []
    for what, words in WAITS.items():
        lacking = [each for each in waiting if each.what == what]
        phrases = [each for each in lacking if each.kind == "phrase"]
        told = [each for each in phrases if each.name in named] or phrases[:1]
        said = [_waits(each, look) for each in told]
        if rest := len(phrases) - len(said):
            said.append(f"and {counted(rest, 'more phrase')}")
        said += [_waits(each, look) for each in lacking if each.kind == "key"]
        if said:
            lines.append(f"Waiting for {words}: {'; '.join(said)}.")
    return lines


def _looked_at(scope: Scope | None, look: Look) -> str:
    title = title_text(scope.phrase.title, look) if scope and scope.phrase else ""
    key = scope.key.text(ascii=look.ascii) if scope and scope.key else ""
    if key:
        return f"{title} in {key}" if title else f"Every phrase that you have started in {key}"
    return "Every key that you have started" + (f" of {title}" if title else "")


def slipping_lines(slipping: tuple[Slipping, ...], look: Look) -> list[str]:
    """Say which keys never stay, and what helps, where there are any."""
    if not slipping:
        return []
    named = [
        f"{title_text(each.title, look)} in {key_text(each.key, look)}"
        f" ({each.clean} of {counted(each.clean + each.missed, 'day')})"
        for each in slipping[:NAMED]
    ]
    more = len(slipping) - len(named)
    said = "; ".join(named) + (f"; and {more} more" if more else "")
    return [
        f"Hardly ever clean, so other keys come first: {said}. Take such a key apart with its"
        " hints, or put it aside for a while: 'drillbox edit PHRASE --aside KEY'."
    ]


def _waits(each: Waiting, look: Look) -> str:
    tempo = "" if each.what == "memory" else f", at {each.tempo:.0%} of goal"
    if each.kind == "key":
        least = f"among the keys least clean at goal, {counted(each.keys, 'phrase')}{tempo}"
        return f"{key_text(each.name, look)} ({least})"
    return f"{title_text(each.name, look)} ({counted(each.keys, 'key')}{tempo})"


def key_text(name: str, look: Look) -> str:
    """Return a key as this screen can show it."""
    return parse_key(name).text(ascii=look.ascii)


def title_text(title: str, look: Look) -> str:
    """Return a title in quotes, short enough for a sentence."""
    return f"'{clean(title, 40, ascii=look.ascii)}'"
