"""A phrase as it was typed, or the phrases of a notation file: read and checked."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from drillbox.errors import BadInput, NotFound
from drillbox.music.charts import Meter
from drillbox.music.keys import Key, parse_key
from drillbox.music.phrases import HIGHEST_TEMPO, LOWEST_TEMPO, Phrase
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.titles import check_title
from drillbox.store.places import refuse_special
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    from drillbox.notation import Limits, Reading


def check_tempo(text: str) -> int:
    """Return a goal tempo in quarter notes a minute; raise BadInput if it is none."""
    remedy = f"Use a whole number from {LOWEST_TEMPO} to {HIGHEST_TEMPO} (quarter notes a minute)"
    if not re.fullmatch(r"[0-9]{1,9}", text.strip()):
        raise BadInput(f"Tempo {text.strip()[:20]!r} isn't a whole number", remedy)
    tempo = int(text)
    if not LOWEST_TEMPO <= tempo <= HIGHEST_TEMPO:
        raise BadInput(f"Tempo {tempo} is out of range", remedy)
    return tempo


def typed_phrase(
    *, title: str, key: str, tempo: str, chart: str, meter: str = "4/4", double_time: bool = False
) -> Phrase:
    """Return a phrase from what the player typed; raise BadInput at the first thing wrong."""
    return Phrase(
        title=check_title(title),
        key=parse_key(key),
        tempo=check_tempo(tempo),
        chart=parse_chart(chart, parse_meter(meter)),
        double_time=double_time,
    )


def read_file(
    path: Path,
    *,
    part: str | None,
    tempo: int | None,
    title: str | None,
    key: Key | None,
    meter: Meter | None = None,
    limits: Limits | None = None,
    tick: Tick = silent,
) -> Reading:
    """Read a notation file; tempo, title, key and meter stand in where it has none.

    ``tick`` hears of tunes read.

    Raises NotFound where there is no such file and BadInput where it can't be used.
    """
    from drillbox.notation import (
        MAX_BYTES,
        Limits,
        read_bytes,
    )  # music21: only when a file comes in

    try:
        if path.is_dir():
            raise BadInput(f"{str(path)!r} is a folder", "Name one file in it.")
        refuse_special(path)
        if not path.is_file():
            raise NotFound(f"There is no file {str(path)!r}", "Check the name and the folder.")
        if path.stat().st_size > MAX_BYTES:
            raise BadInput(
                f"{path.name} has {path.stat().st_size / 1e6:.0f} MB",
                f"A notation file has at most {MAX_BYTES / 1e6:.0f} MB.",
            )
        data = path.read_bytes()
    except OSError as problem:
        raise BadInput(f"Can't read {str(path)!r}: {problem.strerror}", "Check the file.") from None
    return read_bytes(
        data, path.name, part=part, limits=limits or Limits(),
        tempo=tempo, title=title, key=key, meter=meter, tick=tick,
    )  # fmt: skip
