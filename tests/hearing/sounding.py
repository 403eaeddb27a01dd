"""Attempts as sound: rendered by fluidsynth with a sound font of Debian's packages."""

from __future__ import annotations

import io
import shutil
import subprocess
import tempfile
import wave
from collections.abc import Sequence
from pathlib import Path

import mido
import numpy as np
from numpy.typing import NDArray

from drillbox.hearing.takes import Played
from drillbox.sound.ticks import tick

FONTS = {
    "fluid": Path("/usr/share/sounds/sf2/FluidR3_GM.sf2"),
    "tim": Path("/usr/share/sounds/sf2/TimGM6mb.sf2"),
}
PROGRAMS = {"piano": 0, "tenor": 66, "trumpet": 56, "guitar": 26}
"""General MIDI level 1, counted from 0."""
RATE = 44_100


def missing(font: str) -> str:
    """Return why sound can't be rendered here, empty where it can."""
    if not shutil.which("fluidsynth"):
        return "fluidsynth isn't installed"
    return "" if FONTS[font].exists() else f"{FONTS[font].name} isn't installed"


def bend_of(note: Played, scoop: bool, vibrato: bool) -> list[tuple[float, int]]:
    """Return the pitch wheel's places through a note: a scoop into it, a vibrato after."""
    places, at = [], note.start
    while at < note.end:
        since, value = at - note.start, 0.0
        if scoop and since < 0.07:
            value -= 0.5 * (1 - since / 0.07)  # a semitone below, of the wheel's two
        if vibrato and since > 0.15:
            value += 0.15 * np.sin(2 * np.pi * 5.5 * since)  # 30 cents
        places.append((at, int(value * 8191)))
        at += 0.01
    return places


def midi_of(
    takes: Sequence[Sequence[Played]], program: int, seconds: float, *,
    scoop: bool = False, vibrato: bool = False,
) -> bytes:  # fmt: skip
    """Return takes one after another, ``seconds`` apart, as MIDI; a tick is a millisecond."""
    events = [(0.0, 1, mido.Message("program_change", program=program))]
    for number, notes in enumerate(takes):
        for note in notes:
            start, end = number * seconds + note.start, number * seconds + note.end
            if scoop or vibrato:
                events += [(number * seconds + at, 1, mido.Message("pitchwheel", pitch=value))
                           for at, value in bend_of(note, scoop, vibrato)]  # fmt: skip
                events.append((end, 1, mido.Message("pitchwheel", pitch=0)))
            events.append((start, 2, mido.Message("note_on", note=note.pitch, velocity=88)))
            events.append((end, 0, mido.Message("note_off", note=note.pitch)))
    events.append((len(takes) * seconds, 3, mido.MetaMessage("end_of_track")))
    file = mido.MidiFile(type=0, ticks_per_beat=500)  # at 120 a quarter is half a second
    track, before = mido.MidiTrack(), 0
    for at, _, message in sorted(events, key=lambda each: each[:2]):
        tick = round(at * 1000)
        track.append(message.copy(time=tick - before))
        before = tick
    file.tracks.append(track)
    data = io.BytesIO()
    file.save(file=data)
    return data.getvalue()


def rendered(
    takes: Sequence[Sequence[Played]], instrument: str, seconds: float, *, font: str = "fluid",
    room: bool = False, scoop: bool = False, vibrato: bool = False,
) -> list[NDArray[np.float64]]:  # fmt: skip
    """Return each take as samples of one channel, ``RATE`` a second."""
    with tempfile.TemporaryDirectory() as folder:
        source, out = Path(folder, "take.mid"), Path(folder, "take.wav")
        source.write_bytes(
            midi_of(takes, PROGRAMS[instrument], seconds, scoop=scoop, vibrato=vibrato)
        )
        subprocess.run(
            ["fluidsynth", "-ni", "-q", "-R", "1" if room else "0", "-C", "0", "-r", str(RATE),
             "-g", "0.8", "-F", str(out), "-T", "wav", str(FONTS[font]), str(source)],
            check=True, capture_output=True,
        )  # fmt: skip
        with wave.open(str(out)) as file:
            both = np.frombuffer(file.readframes(file.getnframes()), "<i2").reshape(-1, 2)
        samples = both.mean(axis=1) / 32768
    each = round(seconds * RATE)
    return [samples[k * each : (k + 1) * each] for k in range(len(takes))]


def dirtied(
    sound: NDArray[np.float64], dice: np.random.Generator, *, noise: float | None = None,
    click: tuple[float, float, float] | None = None,
) -> NDArray[np.float64]:  # fmt: skip
    """Return a take with pink noise ``noise`` decibels under its loudness, and our own click.

    ``click`` is (first beat in seconds, seconds a beat, loudness as a share of the take's peak).
    """
    out = sound.copy()
    if noise is not None:
        # Of a length with small factors: over one with a large prime the transforms take longest.
        white = np.fft.rfft(dice.standard_normal(1 << len(sound).bit_length()))
        pink = np.fft.irfft(white / np.sqrt(np.maximum(1, np.arange(len(white)))))[: len(sound)]
        loud = np.sqrt(np.mean(sound[np.abs(sound) > 0.02 * np.abs(sound).max()] ** 2))
        out += pink / pink.std() * loud * 10 ** (-noise / 20)
    if click is not None:
        first, beat, share = click
        number, at, peak = 0, first, np.abs(sound).max()
        while at < len(sound) / RATE - 0.1:
            strip = np.array(tick("accent" if number % 4 == 0 else "plain"), dtype=float)
            start = round(at * RATE)
            out[start : start + len(strip)] += strip / 32768 * share * peak
            number += 1
            at = first + number * beat
    return out
