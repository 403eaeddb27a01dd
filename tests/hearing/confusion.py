"""How often the proposal is what was meant: ``python -m tests.hearing.confusion``."""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter

import numpy as np

from drillbox.hearing.by_microphone import judge_sound
from drillbox.hearing.judging import WORDS, judge
from drillbox.hearing.takes import Take
from drillbox.hearing.tracker import heard_frames, notes_of
from tests.hearing.attempts import KINDS, ONLY_WITH_A_CLICK, attempt, listened, over_a_bass
from tests.hearing.sounding import PROGRAMS, RATE, dirtied, rendered

LINES = ("eighths", "eighths", "triplets", "repeated", "sixteenths")


def by_midi(each: int, *, click: bool, seed: int = 1, bass: bool = False):
    """Yield (attempt, judgement) over attempts of every kind, heard by MIDI.

    ``bass``: one walks under them, to a click.
    """
    for kind in KINDS:
        if not click and kind in ONLY_WITH_A_CLICK:
            continue
        for number in range(each):
            dice = random.Random(f"{seed} {kind} {number}")
            loops = 1 + (number % 4 == 3)
            made = attempt(kind, dice, click=click, line=LINES[number % len(LINES)], loops=loops)
            made = over_a_bass(made, dice, loops) if bass else made
            found = judge(listened(made.score.line, made.score.chart), made.take(), loops=2)
            yield made, found


RANGES = {"piano": (58, 80), "tenor": (48, 74), "trumpet": (56, 80), "guitar": (50, 76)}
CONDITIONS = {
    "clean": {}, "noise": {"noise": 22.0}, "click": {"click": True}, "room": {"room": True},
    "all": {"noise": 26.0, "click": True, "room": True},
    "scoops": {"scoop": True, "vibrato": True},
}  # fmt: skip


def by_microphone(each: int, instrument: str, condition: str, *, font: str, click: bool, seed=2):
    """Yield (attempt, judgement) over attempts of every kind, heard as rendered sound."""
    low, high = RANGES[instrument]
    asked = CONDITIONS[condition]
    made = [
        attempt(kind, random.Random(f"{seed} {instrument} {condition} {kind} {number}"),
                click=click, line=LINES[number % len(LINES)], low=low, high=high)
        for kind in KINDS for number in range(each) if click or kind not in ONLY_WITH_A_CLICK
    ]  # fmt: skip
    seconds = max(one.notes[-1].end for one in made) + 1
    sounds = rendered(
        [one.notes for one in made], instrument, seconds, font=font,
        **{name: True for name in ("room", "scoop", "vibrato") if asked.get(name)},
    )  # fmt: skip
    dice = np.random.default_rng(seed)
    for one, sound in zip(made, sounds, strict=True):
        beat = (1.0, 60 / one.score.tempo, 0.15) if asked.get("click") else None
        played = sound[: round((one.notes[-1].end + 0.6) * RATE)]
        heard = dirtied(played, dice, noise=asked.get("noise"), click=beat)
        line = listened(one.score.line, one.score.chart)
        found = heard_frames(heard, RATE)
        take = Take(notes_of(found), "microphone", one.beat)
        yield one, judge_sound(line, found, take, loops=2)


def show(results) -> None:
    """Print the table of meant by proposed, and the kinds that go astray."""
    table, kinds, total = Counter(), {}, 0
    for made, found in results:
        table[made.meant, found.word] += 1
        kinds.setdefault(made.kind, Counter())[found.word] += 1
        total += 1
    right = sum(table[w, w] for w in WORDS)
    near = sum(n for (a, b), n in table.items() if abs(WORDS.index(a) - WORDS.index(b)) <= 1)
    print(f"{total} attempts: {right / total:.1%} as meant, {near / total:.1%} within one")
    for meant in WORDS:
        print(f"{meant:>8}", *(f"{table[meant, word]:5}" for word in WORDS))
    for kind, counts in kinds.items():
        if set(counts) != {KINDS[kind][0]}:
            print(f"  {kind:24} meant {KINDS[kind][0]:7}", dict(counts))


def main(arguments: list[str]) -> None:
    asked = argparse.ArgumentParser(prog="python -m tests.hearing.confusion")
    asked.add_argument("each", type=int, nargs="?", default=20, help="attempts of each kind")
    asked.add_argument("--own", action="store_true", help="in the player's own time, no click")
    asked.add_argument("--bass", action="store_true", help="over a walking bass, to a click")
    asked.add_argument("--microphone", action="store_true")
    asked.add_argument("--tim", action="store_true", help="the second sound font")
    asked.add_argument("--seed", type=int, help="other attempts than those of the table")
    asked.add_argument("--only", nargs="*", default=[], choices=[*PROGRAMS, *CONDITIONS])
    given = asked.parse_args(arguments)
    if not given.microphone:
        click = given.bass or not given.own
        show(by_midi(given.each, click=click, seed=given.seed or 3, bass=given.bass))
        return
    results = []
    for instrument in [i for i in PROGRAMS if i in given.only] or PROGRAMS:
        for condition in [c for c in CONDITIONS if c in given.only] or CONDITIONS:
            found = list(by_microphone(
                given.each, instrument, condition, font="tim" if given.tim else "fluid",
                click=not given.own, seed=given.seed or 2,
            ))  # fmt: skip
            right = sum(one.meant == it.word for one, it in found) / len(found)
            print(f"{instrument:8} {condition:8} {right:.1%}", flush=True)
            results += found
    show(results)


if __name__ == "__main__":
    main(sys.argv[1:])
