"""The nearest chord symbol that can be read, for a text that can't."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from drillbox.music.symbols.words import AFTER_SLASH

# Tails of common symbols, the commoner first: of equally near ones the first is proposed.
_TAILS = (
    "7", "maj7", "m7", "", "m", "6", "m6", "9", "m7b5", "dim7", "7b9", "maj9", "m9", "13",
    "69", "m69", "m(maj7)", "7sus4", "9sus4", "sus4", "sus2", "add9", "m(add9)", "dim", "aug",
    "7#5", "7b5", "7#9", "7#11", "7b13", "7alt", "maj7#11", "maj7#5", "m11", "maj13",
    "m13", "13b9", "13#11", "7b9b13", "7#9b13", "7#5#9", "7sus4b9", "13sus4", "5", "(b5)",
    "9#11", "9#5", "9b5", "m9b5", "maj9#11", "m(maj9)",
)  # fmt: skip
_ROOT = re.compile(r"[A-G](?:bb|##|♭♭|♯♯|[b#♭♯x𝄫𝄪])?")
_LONGEST = 40
# What stands for a sound in words or in other signs, and how it is written in a symbol.
_SPOKEN = tuple(
    (re.compile(pattern, re.IGNORECASE), written)
    for pattern, written in (
        (r"\b(?:sixth|six)\b", "6"), (r"\b(?:seventh|seven)\b", "7"),
        (r"\b(?:fifth|five)\b", "5"), (r"\b(?:ninth|nine)\b", "9"),
        (r"\b(?:eleventh|eleven)\b", "11"), (r"\b(?:thirteenth|thirteen)\b", "13"),
        (r"\bflat(?:ted)?\s*", "b"), (r"\bsharp(?:ed)?\s*", "#"),
        (r"(?<=\d)th\b", ""), (r"\^(?=\d)", "maj"), (r"\^", "maj7"), (r"[\s._()]+", ""),
    )
)  # fmt: skip


def nearest_symbol(
    text: str, unread: tuple[int, int], proposal: str, printed: Callable[[str], str | None]
) -> str:
    """Return the printed form of the nearest symbol to ``text``.

    ``unread`` is where the part that can't stand begins and ends; ``proposal`` is
    the reader's own, where a rule names it. ``printed`` gives the printed form of a text, or
    None if it can't be read. What sounds the same is nearest: the same in words, in other
    signs, or without parentheses. Then come the fewest letters changed, added or left out
    (Levenshtein's distance); a whole part left out counts as two.
    """
    text = text[:_LONGEST]
    root = _root(text)
    slash = text.rfind("/")
    over_bass = slash > 0 and not AFTER_SLASH.match(text, slash + 1)
    basses = (text[slash:], "") if over_bass else ("",)
    if proposal:
        for bass in basses:
            if form := printed(proposal + bass):
                return form
    spoken = _spoken(text)
    if spoken != text and (form := printed(spoken)):
        return form
    best, least = root, len(text) + 1
    for candidate, cost in _candidates(text, unread, root, basses):
        distance = _distance(text, candidate, least) if cost is None else cost
        if distance < least and (form := printed(candidate)):
            best, least = form, distance
    return best


def _spoken(text: str) -> str:
    for pattern, written in _SPOKEN:
        text = pattern.sub(written, text)
    return text


def _root(text: str) -> str:
    """Return the root that the text has or must have meant; C if there is none in it."""
    bare = text.lstrip("( ")
    bare = {"H": "B", "h": "B"}.get(bare[:1], bare[:1].upper()) + bare[1:]
    found = _ROOT.match(bare)
    return found[0] if found else "C"


def _candidates(
    text: str, unread: tuple[int, int], root: str, basses: tuple[str, ...]
) -> Iterator[tuple[str, int | None]]:
    """Yield texts to try, with what they cost where that isn't the distance."""
    at, past = unread
    yield text[:at] + text[at : at + 1].upper() + text[at + 1 :], None
    yield text[:at] + text[at + 1 :], None
    yield (text[:at] + text[past:]).replace("()", ""), min(2, past - at)
    yield text[:at].rstrip(" ,(/"), None
    yield text + ")", None
    yield text.replace("H", "B").replace("h", "B"), None
    yield text[: len(text) - len(basses[0])], None
    for bass in basses:
        for tail in _TAILS:
            yield root + tail + bass, None


def _distance(one: str, other: str, enough: int) -> int:
    """Return how many letters must be changed, added or left out; ``enough`` if that many."""
    if abs(len(one) - len(other)) >= enough:
        return enough
    row = list(range(len(other) + 1))
    for i, mine in enumerate(one, 1):
        before, row[0] = row[0], i
        for j, theirs in enumerate(other, 1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + (mine != theirs))
    return min(row[-1], enough)
