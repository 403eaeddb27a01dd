"""What a player may want to change in a phrase, one line each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.text import Text

from drillbox.music.analysis.cautions import Caution, CautionKind
from drillbox.music.analysis.line_in_chart import beat_text, place
from drillbox.music.charts import Chart, Meter
from drillbox.music.keys import Key
from drillbox.music.moving.octave_breaks import Break, Breaks
from drillbox.music.moving.transposition import Fit
from drillbox.screen import style
from drillbox.screen.bars import span_text
from drillbox.screen.look import Look, clean


def doubt_lines(warnings: Iterable[str], look: Look) -> list[Text]:
    """Return each warning as a line."""
    return [Text(f"  check: {clean(text, ascii=look.ascii)}", style.WEAK) for text in warnings]


def caution_texts(cautions: Sequence[Caution], chart: Chart, look: Look) -> list[str]:
    """Return cautions as sentences; the chords without a guide tone share one."""
    bare = [each.span for each in cautions if each.kind is CautionKind.NO_GUIDE_TONE]
    chords = [_placed(chart, span, look) for span in bare if span is not None]
    return [
        *([f"No 3rd or 7th among the targets: {'; '.join(chords)}."] if chords else []),
        *(each.text for each in cautions if each.kind is not CautionKind.NO_GUIDE_TONE),
    ]


def _placed(chart: Chart, index: int, look: Look) -> str:
    """Return a chord with its place: ``Dm7 in bar 2``, ``G7 in bar 2, beat 3``."""
    start, span = chart.spans()[index]
    bar, beat = place(chart.meter, start)
    where = f"bar {bar}" + (f", beat {beat_text(beat)}" if beat != 1 else "")
    return f"{span_text(span, look)} in {where}"


def range_texts(misfits: Sequence[tuple[Key, Fit]], instrument: str, look: Look) -> list[str]:
    """Say in which keys the line leaves the instrument's range, and by how many semitones."""
    keys = [f"{key.text(ascii=look.ascii)} {_how_far(fit)}" for key, fit in misfits]
    return [f"Out of range for {instrument}, by semitones: {', '.join(keys)}."] if keys else []


def break_text(found: Breaks, meter: Meter, look: Look) -> str:
    """Say where lines break the octave: "E up from bar 2, beat 1"; "" where none does."""
    return "; ".join(
        f"{key.text(ascii=look.ascii)} {places_text(places, meter)}" for key, places in found
    )


def places_text(places: Sequence[Break], meter: Meter) -> str:
    """Say where one line breaks the octave: "up from bar 2, beat 1"."""
    return ", ".join(_broken(each, meter) for each in places)


def _broken(each: Break, meter: Meter) -> str:
    bar, beat = place(meter, each.onset)
    way = "up" if each.octaves > 0 else "down"
    times = "" if abs(each.octaves) == 1 else f" {abs(each.octaves)} octaves"
    return f"{way}{times} from bar {bar}, beat {beat_text(beat)}"


def stray_text(fit: Fit, instrument: str) -> str:
    """Say that a card's line leaves the instrument's range, and by how many semitones."""
    return f"Out of range for {instrument}: {_how_far(fit)} (semitones)."


def _how_far(fit: Fit) -> str:
    ways = ((fit.over, "high"), (fit.under, "low"))
    return " and ".join(f"{amount} too {way}" for amount, way in ways if amount)
