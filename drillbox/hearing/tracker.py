"""Which pitch classes sound, frame by frame, by autocorrelation; and the notes that they make.

After Boersma (1993), "Accurate short-term analysis of the fundamental frequency and the
harmonics-to-noise ratio of a sampled sound", Proceedings of the Institute of Phonetic Sciences
17, 97-110: the autocorrelation of a Hann window of sound is divided by the window's own, so
that its peaks are as high as the sound is periodic. As octaves don't matter here, a peak at
half or twice the lag is as good, and what is looked for is the best lag of each pitch class.
Notes are the likeliest course of these, cut where a note is struck again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from drillbox.hearing.takes import Played
from drillbox.music.pulse import CLICK_HERTZ
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

HOP = 0.005
"""Seconds from frame to frame."""
LOWEST, HIGHEST = 75.0, 1500.0
"""Hertz. Three periods of the lowest make the window of 40 ms, which a note of 100 ms bears."""
BRIGHTEST = 4500.0
"""Hertz up to which partials count; breath and cymbals lie above."""
STEPS = 5
"""Lags tried to a semitone."""
BLOCK = 512
"""Frames heard at a time."""
OCTAVE_COST = 0.045
"""What a lag twice as long costs: three periods are as periodic as one, but another note."""
UNDERTONE, UNDERTONE_COST = 0.7, 0.25
"""A lag is an undertone where a third or a fifth of it is nearly as strong; what it costs."""
CLICK_WIDTH = 45.0
"""Hertz on either side of our own click that are cut out."""
CLICK_SHARE, CLICK_LONGEST = 0.9, 0.06
"""A note is what the cut left of a click where it lost such a share of its power, and is no longer
in seconds: a click's 30 ms, seen through a window of 40."""


@dataclass(frozen=True, slots=True)
class Frames:
    """``strength`` is frames by twelve pitch classes from C, about 0 to 1; ``level`` each frame's
    loudness and ``attack`` its rise in decibels, ``click`` the share of its power that was our
    click's; frame k is centred on ``k * HOP`` seconds."""

    strength: NDArray[np.float64]
    level: NDArray[np.float64]
    attack: NDArray[np.float64]
    click: NDArray[np.float64]


def heard_frames(samples: NDArray[np.float64], rate: int, tick: Tick = silent) -> Frames:
    """Return what sounds in ``samples`` (one channel, ``rate`` a second).

    ``tick`` hears of frames heard. They are heard a block at a time, which keeps the memory small.
    """
    import numpy as np

    sound, fewer = _decimated(samples, rate)
    size, lags = round(3 / LOWEST * fewer), _lags()
    window = _window_autocorrelation(lags, size / fewer)
    count = _count(sound, fewer)
    worth = np.zeros((count, len(lags)), np.float32)
    level, click, done = np.empty(count), np.empty(count), 0
    for power, width, share in _power(sound, fewer, size):
        here = slice(done, done + len(power))
        total = power.sum(axis=1, keepdims=True) + 1e-12
        level[here], click[here] = 10 * np.log10(total[:, 0]), share
        done = here.stop
        if (level[here] > level[:done].max() - QUIET).any():  # else nothing in it counts
            cosines = _cosines(width, power.shape[1])
            worth[here] = _worth((power @ cosines) / total / window, lags)
        tick(done, count)
    return Frames(_by_class(worth, lags), level, _attack(sound, fewer), click)


def _decimated(samples: NDArray[np.float64], rate: int) -> tuple[NDArray[np.float64], float]:
    """Return the sound at 11 to 22 thousand samples a second, low-passed before."""
    import numpy as np

    factor = max(1, rate // 11_000)
    taps = np.arange(-12 * factor, 12 * factor + 1)
    kernel = np.sinc(taps / factor * 0.9) * np.hanning(len(taps))
    kernel /= kernel.sum()
    padded = np.concatenate((np.zeros(12 * factor), samples, np.zeros(12 * factor + 1)))
    around = np.lib.stride_tricks.sliding_window_view(padded, len(taps))[: len(samples) : factor]
    passed = np.empty(len(around))
    for first in range(0, len(around), 1 << 14):
        passed[first : first + (1 << 14)] = around[first : first + (1 << 14)] @ kernel
    return passed, rate / factor


def _count(sound: NDArray[np.float64], rate: float) -> int:
    """Return how many frames there are."""
    return int(len(sound) / rate / HOP)


def _power(
    sound: NDArray[np.float64], rate: float, size: int
) -> Iterator[tuple[NDArray[np.float64], float, NDArray[np.float64]]]:
    """Yield frames' power spectra up to ``BRIGHTEST`` without the click, by blocks of frames, each
    with the bin width and the share of each frame's power that was the click's.

    Windows of ``size`` samples, each centred on a multiple of ``HOP``, are padded to twice as
    much, so that the autocorrelation doesn't fold back on itself.
    """
    import numpy as np

    padded = np.concatenate((np.zeros(size // 2), sound, np.zeros(size)))
    starts = np.round(np.arange(_count(sound, rate)) * HOP * rate).astype(int)
    cut = np.lib.stride_tricks.sliding_window_view(padded, size)
    length = 1 << (2 * size - 1).bit_length()
    width = rate / length
    top = min(length // 2, int(BRIGHTEST / width))
    at, hann = np.arange(top) * width, np.hanning(size)
    clicks = np.any([np.abs(at - each) <= CLICK_WIDTH for each in CLICK_HERTZ.values()], axis=0)
    for first in range(0, len(starts), BLOCK):
        block = cut[starts[first : first + BLOCK]]
        block = (block - block.mean(axis=1, keepdims=True)) * hann
        power = np.abs(np.fft.rfft(block, length)[:, :top]) ** 2
        total = power.sum(axis=1)
        power[:, clicks] = 0.0
        yield power, width, 1 - power.sum(axis=1) / (total + 1e-12)


@cache
def _lags() -> NDArray[np.float64]:
    """Return the lags that are tried, in seconds, from the highest pitch down."""
    import numpy as np

    semitones = 12 * np.log2(np.array((LOWEST, HIGHEST)) / 440.0)
    first, last = np.ceil(semitones[0] * STEPS), np.floor(semitones[1] * STEPS)
    return 1 / (440.0 * 2 ** (np.arange(last, first - 1, -1) / (12 * STEPS)))


@lru_cache(maxsize=4)
def _cosines(width: float, bins: int) -> NDArray[np.float64]:
    """Return what turns a power spectrum into the autocorrelation at each lag exactly."""
    import numpy as np

    return np.cos(2 * np.pi * width * np.outer(np.arange(bins), _lags()))


def _window_autocorrelation(lags: NDArray[np.float64], length: float) -> NDArray[np.float64]:
    """Return the Hann window's own normalised autocorrelation (Boersma 1993, equation 8)."""
    import numpy as np

    part = lags / length
    turn = 2 * np.pi * part
    own: NDArray[np.float64] = (1 - part) * (2 / 3 + np.cos(turn) / 3) + np.sin(turn) / (2 * np.pi)
    return own


def _worth(correlation: NDArray[np.float64], lags: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return what each lag is worth as the one that sounds: 0 and less where it is no peak."""
    import numpy as np

    peak = np.zeros(correlation.shape, bool)
    inner = correlation[:, 1:-1]
    peak[:, 1:-1] = (inner >= correlation[:, :-2]) & (inner > correlation[:, 2:])
    worth = np.where(peak, correlation - OCTAVE_COST * np.log2(lags * HIGHEST), 0.0)
    worth -= UNDERTONE_COST * _undertones(correlation)
    return worth


def _by_class(worth: NDArray[np.float32], lags: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return each frame's best peak in each pitch class, in tune with the player."""
    import numpy as np

    pitch = 69 - 12 * np.log2(440.0 * lags)
    best = worth.argmax(axis=1)
    strong = worth.max(axis=1) > 0.6
    turns = np.exp(2j * np.pi * pitch[best[strong]])
    sharp = float(np.angle(turns.mean())) / (2 * np.pi) if strong.any() else 0.0
    classes = np.zeros((len(worth), 12))
    for each in range(12):
        off = np.abs((pitch - sharp - each + 6) % 12 - 6)
        near = off < 0.8
        value = worth[:, near] - 0.6 * np.maximum(0.0, off[near] - 0.4)
        classes[:, each] = value.max(axis=1)
    return classes


def _undertones(correlation: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell which lags are three or five times one that is nearly as periodic.

    Such a lag is of another pitch class, a twelfth or two octaves and a third lower.
    """
    import numpy as np

    found = np.zeros(correlation.shape, bool)
    for times in (3, 5):
        steps = round(12 * np.log2(times) * STEPS)
        shorter = np.maximum(correlation[:, 1:-1], correlation[:, 2:])
        shorter = np.maximum(shorter, correlation[:, :-2])[:, : -steps + 1]
        longer = correlation[:, steps + 1 : steps + 1 + shorter.shape[1]]
        found[:, steps + 1 : steps + 1 + longer.shape[1]] |= (
            shorter[:, : longer.shape[1]] >= UNDERTONE * longer
        )
    return found


def _attack(sound: NDArray[np.float64], rate: float) -> NDArray[np.float64]:
    """Return how much louder in decibels each frame is than the quietest of the 30 ms before."""
    import numpy as np

    size = round(0.016 * rate)
    total = [power.sum(axis=1) for power, _, _ in _power(sound, rate, size)]
    level = 10 * np.log10(np.concatenate([*total, np.zeros(0)]) + 1e-12)
    before = np.min([np.roll(level, k) for k in range(2, 9)], axis=0)
    before[:8] = level[:8]
    rise: NDArray[np.float64] = level - before
    return rise


SILENCE = 12
CHANGE = 0.9
"""What a change of note costs, against a strength of 0 to 1 a frame: a note must stand out for
some 30 ms."""
UNVOICED = 0.45
"""Strength below which a frame is rather silence (the voicing threshold of Boersma 1993)."""
QUIET = 38.0
"""Decibels under the loudest at which nothing counts any more."""
SHORTEST = 0.03
ANEW, APART = 5.0, 0.055
"""Decibels of rise, and seconds from the note's beginning, at which it is struck again."""


def notes_of(found: Frames) -> tuple[Played, ...]:
    """Return the notes heard, in order, each in the octave above middle C."""
    import numpy as np

    course = _course(found)
    if not len(course):
        return ()
    edges = np.flatnonzero(np.diff(course)) + 1
    notes = []
    for first, last in zip((0, *edges), (*edges, len(course)), strict=True):
        if course[first] == SILENCE or (last - first) * HOP < SHORTEST:
            continue
        if (last - first) * HOP <= CLICK_LONGEST and found.click[first:last].max() >= CLICK_SHARE:
            continue
        cuts = [first, *_struck_again(found.attack, int(first), int(last)), last]
        for start, end in pairwise(cuts):
            sure = float(found.strength[start:end, course[first]].mean())
            notes.append(Played(start * HOP, end * HOP, 60 + int(course[first]), min(1.0, sure)))
    return tuple(notes)


def _course(found: Frames) -> NDArray[np.int64]:
    """Return the class of each frame, ``SILENCE`` for none: the best path (Viterbi 1967)."""
    import numpy as np

    loud = found.level > max(found.level.max(initial=-200.0) - QUIET, -90.0)
    worth = np.full((len(loud), 13), UNVOICED)
    worth[:, :12] = np.where(loud[:, None], found.strength, -1.0)
    came = np.empty(worth.shape, dtype=np.int64)
    score = worth[0].copy() if len(worth) else np.zeros(13)
    stay = np.arange(13)
    for frame in range(1, len(worth)):
        best = int(score.argmax())
        moved = score[best] - CHANGE > score
        came[frame] = np.where(moved, best, stay)
        score = np.where(moved, score[best] - CHANGE, score) + worth[frame]
    course = np.empty(len(worth), dtype=np.int64)
    state = int(score.argmax())
    for frame in range(len(worth) - 1, -1, -1):
        course[frame] = state
        state = int(came[frame, state]) if frame else state
    return course


def _struck_again(attack: NDArray[np.float64], first: int, last: int) -> list[int]:
    """Return the frames within a note at which it is struck again."""
    import numpy as np

    apart = round(APART / HOP)
    found, at = [], first
    for frame in range(first + apart, last - round(SHORTEST / HOP)):
        window = attack[max(first, frame - 4) : frame + 5]
        if attack[frame] >= ANEW and attack[frame] == np.max(window) and frame - at >= apart:
            found.append(frame)
            at = frame
    return found
