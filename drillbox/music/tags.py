"""Tags: the player's own words for tunes and phrases."""

from __future__ import annotations

import re
from collections.abc import Sequence

from drillbox.errors import BadInput

LONGEST_TAG, MOST_TAGS = 40, 20


def check_tags(texts: Sequence[str]) -> tuple[str, ...]:
    """Return tags in order, each once whatever its case; raise BadInput for what is none."""
    kept: dict[str, str] = {}
    for text in texts:
        tag = " ".join(text.split())
        if not re.fullmatch(r"[^\W_][\w &'./+-]*", tag) or len(tag) > LONGEST_TAG:
            raise BadInput(
                f"{text[:LONGEST_TAG]!r} can't be a tag",
                f"Use letters, digits and blanks, {LONGEST_TAG} at most, as in: --tag quartet",
            )
        kept.setdefault(tag.casefold(), tag)
    if len(kept) > MOST_TAGS:
        raise BadInput(f"{len(kept)} tags are too many", f"Use {MOST_TAGS} at most.")
    return tuple(kept.values())


def has_tag(tags: Sequence[str], tag: str) -> bool:
    """Return whether a tag is among tags, whatever its case."""
    return " ".join(tag.split()).casefold() in {each.casefold() for each in tags}
