"""How long finding fits takes: 500 phrases in twelve keys against 500 tunes, in a store.

Run: ``python -m tests.bench.bench_fits``. Phrases and tunes are put together at random from
cadences that are common property; lines are random chord tones.
"""

from __future__ import annotations

import argparse
import random
import resource
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path

from drillbox.music.charts import Bar, Chart
from drillbox.music.chords import tones
from drillbox.music.keys import MAJOR, parse_key
from drillbox.music.moving.transposition import chart_to
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import Pitch
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.tunes import Tune, parse_form
from drillbox.practice.adding import keep, prepare
from drillbox.practice.preferences import preferences_from
from drillbox.store.opening import open_store
from drillbox.store.tune_rows import NewTune, add_tunes

PIECES = (
    "Dm7 | G7 | Cmaj7 | %", "Dm7 G7 | Cmaj7 | %", "Dm7b5 | G7b9 | Cm6 | %", "Dm7b5 G7 | Cm7 | %",
    "Cmaj7 A7 | Dm7 G7", "Em7 A7 | Dm7 G7", "D7 | % | G7 | %", "Dm7 | Db7 | C6 | %",
    "Fm7 | Bb7 | Cmaj7 | %", "Dm9 | G13 | Cmaj9 | %", "G7sus4 | G7 | C6 | %", "C7 | % | F7 | %",
    "Dm7 | % | % | %", "Cmaj7 | C#dim7 | Dm7 | G7", "Am7 | D7 | Dm7 | G7", "Cm7 | F7 | Bb7 | Eb7",
    "Cmaj7 | Fmaj7 | Em7 A7 | Dm7 G7", "Ebm7 | Ab7 | Dm7 | G7", "Cm6 | % | Fm6 | %",
)  # fmt: skip
COMMON, C = parse_meter("4/4"), parse_key("C")
NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)


def bars(dice: random.Random, least: int) -> tuple[Bar, ...]:
    """Return at least so many bars of pieces, each in a key of its own."""
    found: list[Bar] = []
    while len(found) < least:
        key = C.interval_to(dice.choice(MAJOR))
        found += chart_to(parse_chart(dice.choice(PIECES), COMMON), key).bars
    return tuple(found)


def phrase(dice: random.Random, number: int) -> Phrase:
    """Return a phrase of one or two pieces under a line of eighths."""
    chart = Chart(COMMON, bars(dice, dice.choice((2, 2, 2, 4, 4, 6))))
    notes = []
    for eighth in range(int(chart.length * 2) - 3):
        onset = Fraction(eighth, 2)
        span = chart.span_at(onset)
        if span and span.chord:
            pitch = Pitch(dice.choice(tones(span.chord)), 4)
            notes.append(LineNote(onset, Fraction(1, 2), pitch))
    return Phrase(f"Phrase {number}", dice.choice(MAJOR), 180, chart, tuple(notes))


def tune(dice: random.Random, number: int) -> Tune:
    """Return a tune of 32 bars."""
    chart = Chart(COMMON, bars(dice, 32)[:32])
    return Tune(f"Tune {number}", dice.choice(MAJOR), 140, chart, parse_form("AABA", 32))


def made(place: Path, count: int) -> None:
    """Make a store with so many phrases and so many tunes."""
    dice = random.Random(7)
    preferences = preferences_from({})
    with open_store(place, now=NOW, backups=False) as store:
        keep(store, [prepare(phrase(dice, n), preferences) for n in range(count)], NOW)
        add_tunes(store, [NewTune(tune(dice, n)) for n in range(count)], NOW)


def timed(place: Path, *words: str) -> tuple[float, float, float]:
    """Return the seconds of a command, those until its first answer, and its memory in MB."""
    started = time.perf_counter()
    command = [sys.executable, "-m", "drillbox", "--store", str(place), *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT) as running:
        assert running.stdout
        running.stdout.read(1)
        first = time.perf_counter() - started
        running.stdout.read()
        running.wait()
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return time.perf_counter() - started, first, peak


def main() -> None:
    """Print seconds, seconds to the first answer, and the most memory so far."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--count", type=int, default=500)
    asked.add_argument("--store", type=Path)
    options = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        place = options.store or Path(folder) / "store.sqlite3"
        if not place.exists():
            made(place, options.count)
        for words in (("tune", "list"), ("fits", "Tune 1"), ("fits", "--all")):
            runs = sorted(timed(place, *words) for _ in range(3))
            whole, first, peak = runs[1]
            print(
                f"{' '.join(words):<14} {whole:6.2f} s, first answer {first:5.2f} s, {peak:4.0f} MB"
            )


if __name__ == "__main__":
    main()
