"""The zone that the player's system is set to, by its IANA name; never a wrong one in silence."""

from __future__ import annotations

import os
import re
import zoneinfo
from collections.abc import Mapping
from pathlib import Path

from drillbox.errors import BadInput

_FIXED = re.compile(r"(?:[A-Za-z]{3,}|<[A-Za-z0-9+-]{3,}>)([+-]?\d{1,2})")
_REMEDY = "Name yours: drillbox settings zone Europe/Lisbon (or another)."


def system_zone(env: Mapping[str, str] = os.environ, clock: Path = Path("/etc/localtime")) -> str:
    """Return the zone that TZ names, or else the one that the system is set to.

    Raises BadInput where there is one that has no name.
    """
    told = env.get("TZ", "").removeprefix(":")
    if told and not told.startswith("/"):
        return _told(told)
    from tzlocal import get_localzone_name  # read only where the zone isn't set

    if name := get_localzone_name() or ("" if clock.exists() else "UTC") or _alike(clock):
        return str(name)
    raise BadInput(f"The system's time zone ({clock}) has no known name", _REMEDY)


def _told(text: str) -> str:
    """Return the zone that a TZ names: a zone, or hours west of Greenwich as POSIX writes them."""
    try:
        return zoneinfo.ZoneInfo(text).key
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        pass
    if fixed := _FIXED.fullmatch(text):
        hours = int(fixed[1])
        # These names count west of Greenwich as well.
        if -14 <= hours <= 12:
            return f"Etc/GMT{hours:+d}" if hours else "Etc/UTC"
    raise BadInput(f"TZ is {text[:80]!r}, which isn't a time zone", _REMEDY)


def _alike(clock: Path) -> str | None:
    """Return the zone whose rules a file holds that was copied instead of linked."""
    rules = clock.read_bytes()
    names = sorted(zoneinfo.available_timezones(), key=lambda name: ("/" not in name, name))
    for name in names:
        for folder in zoneinfo.TZPATH:
            try:
                if Path(folder, name).read_bytes() == rules:
                    return name
            except OSError:
                continue
    return None
