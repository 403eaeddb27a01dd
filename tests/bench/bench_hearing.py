"""What hearing an attempt costs: ``python -m tests.bench.bench_hearing``."""

from __future__ import annotations

import random
import time
from collections.abc import Callable

import numpy as np

from drillbox.hearing.alignment import align
from drillbox.hearing.by_microphone import judge_sound
from drillbox.hearing.judging import judge
from drillbox.hearing.takes import Beat, Played, Take
from drillbox.hearing.tracker import heard_frames, notes_of
from tests.hearing.attempts import attempt, listened
from tests.hearing.sounding import RATE, missing, rendered


def timed(what: str, does: Callable[[], object], seconds: float | None = None) -> None:
    """Print the median of five runs in milliseconds of processor, and its share of real time."""
    runs = []
    for _ in range(5):
        began = time.process_time()
        does()
        runs.append(time.process_time() - began)
    middle = sorted(runs)[2]
    share = f", {middle / seconds:.2%} of real time" if seconds else ""
    print(f"{what:44} {middle * 1000:7.1f} ms{share}")


def main() -> None:
    one = attempt("as written", random.Random("bench"), loops=2)
    line = listened(one.score.line, one.score.chart)
    timed(f"a take of {len(one.notes)} notes, by MIDI", lambda: judge(line, one.take(), 2))
    classes = [(i * 7 + i // 5) % 12 for i in range(1024)]
    notes = [Played(i / 4, i / 4 + 0.2, 60 + each) for i, each in enumerate(classes)]
    onsets = [i / 2 for i in range(1024)]
    timed("aligning 128 bars of eighths", lambda: align(onsets, classes, notes, Beat(0.0, 0.5)))
    if reason := missing("tim"):
        print(f"no sound: {reason}")
        return
    (sound,) = rendered([one.notes], "trumpet", one.notes[-1].end + 0.5, font="tim")
    seconds = len(sound) / RATE
    timed(f"tracking {seconds:.1f} s of trumpet", lambda: heard_frames(sound, RATE), seconds)
    found = heard_frames(np.asarray(sound), RATE)

    def judged() -> None:
        judge_sound(line, found, Take(notes_of(found), "microphone", one.beat), 2)

    timed("notes, second look and judgement", judged, seconds)


if __name__ == "__main__":
    main()
