"""Where the two folders lie that are shipped beside the code."""

from __future__ import annotations

from pathlib import Path


def shipped(name: str) -> Path:
    """Return the folder ``migrations`` or ``seeds_demo``.

    In a wheel it lies inside the package, in a checkout beside it.
    """
    inside = Path(__file__).parent / "_shipped" / name
    return inside if inside.is_dir() else Path(__file__).parent.parent / name
