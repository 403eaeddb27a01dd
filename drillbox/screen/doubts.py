"""What a player may want to change in a phrase, a line to each thing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.text import Text

from drillbox.music.cautions import Caution, CautionKind
from drillbox.music.charts import Chart
from drillbox.music.hearing import beat_text, place
from drillbox.music.keys import Key
from drillbox.music.transposition import Fit
from drillbox.screen import style
from drillbox.screen.bars import span_text
from drillbox.screen.look import Look, clean


def doubt_lines(warnings: Iterable[str], look: Look) -> list[Text]:
    """Return each warning as a line."""
    return [Text(f"  doubtful: {clean(text, ascii=look.ascii)}", style.WEAK) for text in warnings]


def caution_texts(cautions: Sequence[Caution], chart: Chart, look: Look) -> list[str]:
    """Return cautions as sentences; the chords without a guide tone share one."""
    bare = [each.span for each in cautions if each.kind is CautionKind.NO_GUIDE_TONE]
    chords = [_placed(chart, span, look) for span in bare if span is not None]
    return [
        *([f"No guide tone among the targets of {', '.join(chords)}."] if chords else []),
        *(each.text for each in cautions if each.kind is not CautionKind.NO_GUIDE_TONE),
    ]


def _placed(chart: Chart, index: int, look: Look) -> str:
    """Return a chord with its place: ``Dm7 in bar 2``, ``G7 in bar 2 on 3``."""
    start, span = chart.spans()[index]
    bar, beat = place(chart.meter, start)
    where = f"bar {bar}" + (f" on {beat_text(beat)}" if beat != 1 else "")
    return f"{span_text(span, look)} in {where}"


def range_texts(misfits: Sequence[tuple[Key, Fit]], instrument: str, look: Look) -> list[str]:
    """Say in which keys the line leaves the instrument's range, and by how many semitones."""
    keys = [f"{key.text(ascii=look.ascii)} {_how_far(fit)}" for key, fit in misfits]
    return [f"Out of range for {instrument}, by semitones: {', '.join(keys)}."] if keys else []


def _how_far(fit: Fit) -> str:
    ways = ((fit.over, "high"), (fit.under, "low"))
    return " and ".join(f"{amount} too {way}" for amount, way in ways if amount)
