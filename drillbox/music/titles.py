"""The title of a phrase: what may be one, and when two are the same."""

from __future__ import annotations

import re
import unicodedata

from drillbox.errors import BadInput

LONGEST_TITLE = 120


def check_title(text: str) -> str:
    """Return a title with its blanks collapsed and control characters gone.

    Raises BadInput where nothing is left or it is too long.
    """
    spaced = re.sub(r"\s+", " ", text)
    title = "".join(c for c in spaced if unicodedata.category(c) not in {"Cc", "Cs"}).strip()
    if not title:
        raise BadInput("The title is empty", "Name the phrase: --title 'Late kettle'")
    if len(title) > LONGEST_TITLE:
        raise BadInput(
            f"The title has {len(title)} characters", f"Shorten it to {LONGEST_TITLE} or fewer."
        )
    return title


def folded(title: str) -> str:
    """Return the title as it counts for being the same: case, accents' coding, blanks aside."""
    return " ".join(unicodedata.normalize("NFKC", title).casefold().split())
