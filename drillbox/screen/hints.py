"""A hint on the screen: under its chords where it fits, otherwise listed chord by chord."""

from __future__ import annotations

from drillbox.music.charts import Meter
from drillbox.practice.drilling import HintView
from drillbox.screen.look import Look, clean


def heading(hint: HintView) -> str:
    """Return what the hint shows and its place on the ladder."""
    return f"hint {hint.level} of 3: {hint.title}"


def under_bars(hint: HintView) -> list[list[str]]:
    """Return, for each full bar, the hint's text for each of its chords."""
    return [[" ".join(cell.texts) for cell in bar.cells] for bar in hint.bars if bar.number]


def pickup_line(hint: HintView) -> list[str]:
    """Return the pickup's notes as a line; none where there is no pickup."""
    return [
        "pickup: " + " ".join(text for cell in bar.cells for text in cell.texts)
        for bar in hint.bars
        if not bar.number
    ]


def listed(hint: HintView, look: Look) -> list[str]:
    """Return the hint chord by chord, a bar to a line, for narrow screens and for reading out."""
    lines = []
    for bar in hint.bars:
        if bar.number:
            cells = [f"{cell.chord}: {' '.join(cell.texts) or look.dash}" for cell in bar.cells]
            lines.append(f"bar {bar.number}  " + "; ".join(cells))
    return pickup_line(hint) + lines


def break_line(hint: HintView, meter: Meter) -> list[str]:
    """Return where the line breaks the octave as a line; none where it doesn't."""
    if not hint.breaks:
        return []
    from drillbox.screen.doubts import places_text  # brings the analysis along

    return [f"octave broken: {places_text(hint.breaks, meter)}"]


def note_line(note: str, look: Look) -> list[str]:
    """Return the player's note to self as a line; none where there is none."""
    return [f"your note: {clean(note, ascii=look.ascii)}"] if note else []
