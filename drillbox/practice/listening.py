"""Listen to an attempt at a key of a phrase: what was heard, and the rating that it speaks for."""

from __future__ import annotations

import io
import wave
from collections.abc import Sequence
from dataclasses import replace
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from drillbox.errors import BadInput, NotFound
from drillbox.hearing.expected import Expected, expected
from drillbox.hearing.judging import Word, judge
from drillbox.hearing.over_chart import over_chart
from drillbox.hearing.parts import best_part
from drillbox.hearing.passes import beat_found
from drillbox.hearing.reasons import Reading, features_kept, own_tempo, proposal_text
from drillbox.hearing.takes import MOST, Beat, Ear, Overheard, Played, Take
from drillbox.memory.recall import Recall
from drillbox.music.pitch import FLATS
from drillbox.practice.hinting import analysis_of, phrase_of
from drillbox.practice.preferences import Preferences
from drillbox.store.access import Store
from drillbox.store.files import refuse_folder, refuse_special, write_whole
from drillbox.store.values import CardRecord, HeardAttempt
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from drillbox.hearing.tracker import Frames

KINDS = (".mid", ".midi", ".wav")
LONGEST = 120
"""Seconds of one live go by microphone that are judged: the first to a click, the last without.

To a click at least once through the chart, however long that is, and a breath after it.
"""
BREATH = 2
LARGEST = 400_000_000
"""Bytes of a recording: ten minutes in the finest format that studios use come to less."""


class Click(NamedTuple):
    """What was played to: the tempo in quarter notes a minute, None for the player's own time.

    ``start`` is when the first full bar began, in seconds, None where it is to be found.
    ``among`` tells that other keys were played right before and after. ``asked`` is the tempo
    that the player was shown, None for the one that the key has reached.
    """

    tempo: int | None = None
    start: float | None = None
    loops: int | None = None
    among: bool = False
    asked: int | None = None


class Heard(NamedTuple):
    """What is proposed: ``word`` None where nothing can be said of the notes.

    ``other`` is the word that it may as well be; ``text`` one sentence with the reasons;
    ``features`` the numbers behind it; ``slower`` tells that the player's own time was clearly
    below the tempo asked for, or the click's.
    """

    ear: Ear
    word: Word | None
    other: Word | None
    text: str
    features: dict[str, Any]
    slower: bool = False

    @property
    def proposed(self) -> Recall | None:
        """Return the one rating that is proposed, None where there is none or it can't tell."""
        return Recall[self.word.upper()] if self.word and not self.other else None

    @property
    def silent(self) -> bool:
        """Return whether nothing was played."""
        return bool(self.features.get("silent"))

    def stored(self) -> HeardAttempt:
        """Return what is kept of it with the attempt."""
        word, other = (each and Recall[each.upper()] for each in (self.word, self.other))
        return HeardAttempt(self.ear, word or None, other or None, self.features)


class Listener:
    """Listens for one key of a phrase: ``read`` is that card as the player reads it."""

    def __init__(
        self,
        store: Store,
        sounding: CardRecord,
        read: CardRecord,
        preferences: Preferences,
        *,
        ascii: bool = False,
    ) -> None:
        above = preferences.instrument.above.semitones % 12 if preferences.transposes else 0
        self.card, self.delay = sounding, preferences.listen_delay
        self.line: Expected | None = None
        if any(note.length > 0 for note in sounding.line):
            analysis = analysis_of(phrase_of(store, sounding))
            self.line = expected(sounding.line, sounding.chart, analysis.targets)
        self.reading = Reading(read.key, read.chart, read.line, above, ascii, preferences.spelling)

    def hear(self, notes: Sequence[Played], ear: Ear, click: Click) -> Heard:
        """Return what is proposed for the notes that were played."""
        return self._heard_of(self.take(notes, ear, click), click)

    def take(self, notes: Sequence[Played], ear: Ear, click: Click) -> Take:
        """Return notes with the beat that they were played to."""
        return Take(tuple(notes), ear, self._beat_of(notes, click))

    def best_part(
        self, parts: Sequence[tuple[Played, ...]], click: Click, tick: Tick
    ) -> tuple[Played, ...]:
        """Return the part of a MIDI file that fits the line best; without a line all of it."""
        if self.line is None:
            return parts[0]
        takes = [self.take(part, "midi", click) for part in parts]
        return best_part(self.line, takes, tick).notes

    def hear_stretch(
        self, overheard: Overheard, click: Click, seconds: float, around: float
    ) -> Heard:
        """Return what is proposed for so many seconds from ``click.start`` of what was heard.

        The line's pickup before them is heard, too, and ``around`` seconds at either end.
        """
        assert click.tempo is not None  # a stretch is one of a beat's
        assert click.start is not None
        first = float(self.line.onsets[0]) * 60 / click.tempo if self.line else 0.0
        begun = click.start + self._late(overheard)
        part = overheard.part(begun + min(0.0, first) - around, begun + seconds + around)
        return self.hear_live(part, click._replace(among=True))

    def _late(self, overheard: Overheard) -> float:
        """Return how many seconds after it was played a device heard a note."""
        return self.delay if overheard.rate else 0.0

    def hear_live(self, overheard: Overheard, click: Click) -> Heard:
        """Return what is proposed for what a device heard; ``click.start`` is on its clock."""
        since = overheard.since - self._late(overheard)
        moved = click._replace(start=None if click.start is None else click.start - since)
        if not overheard.rate:
            last = overheard.notes[-MOST:]
            notes = [Played(at - since, ended - since, note) for at, ended, note in last]
            return self.hear(notes, "midi", moved)
        import numpy as np

        most = self._longest(moved) * overheard.rate * 2
        heard = overheard.sound[:most] if click.tempo else overheard.sound[-most:]
        return self.hear_sound(np.frombuffer(heard, np.int16) / 32768, overheard.rate, moved)

    def _longest(self, click: Click) -> int:
        if click.tempo is None:
            return LONGEST
        once = float(self.card.chart.length) * 60 / click.tempo
        return max(LONGEST, ceil((click.start or 0.0) + once + BREATH))

    def hear_sound(
        self, samples: NDArray[np.float64], rate: int, click: Click, tick: Tick = silent
    ) -> Heard:
        """Return what is proposed for a sound of one channel, ``rate`` samples a second."""
        from drillbox.hearing.tracker import heard_frames, notes_of

        found = heard_frames(samples, rate, tick=tick)
        return self._heard_of(self.take(notes_of(found), "microphone", click), click, found)

    def _heard_of(self, take: Take, click: Click, sound: Frames | None = None) -> Heard:
        """Return what is proposed for a take, with the ``sound`` that its notes were found in."""
        if click.among and not self._begun(take, click.loops or 1):
            take = replace(take, notes=())
        if self.line is None:
            over = over_chart(self.card.chart, take)
            kept = {"bars": over.bars, "changes": over.met, "silent": not over.notes}
            return Heard(take.ear, None, None, over.text(), kept)
        if sound is None:
            judgement = judge(self.line, take, click.loops)
        else:
            from drillbox.hearing.by_microphone import judge_sound

            judgement = judge_sound(self.line, sound, take, click.loops)
        asked = None if click.tempo else click.asked or self.card.state.tempo.tempo
        own, shown = judgement.tempi or (own_tempo(judgement.heard, asked), asked)
        return Heard(
            take.ear,
            judgement.word,
            judgement.other,
            proposal_text(self.line, judgement, replace(self.reading, tempo=asked)),
            features_kept(self.line, judgement),
            slower=bool(own and shown and own < shown),
        )

    def _begun(self, take: Take, loops: int) -> bool:
        """Return whether more was played than the ends of the keys before and after.

        What lies halfway from the line's last note to its first in the next key, or nearer, is
        that key's; a note beyond may be one that came late or early.
        """
        if take.beat is None:
            return False
        length, border, least = float(self.card.chart.length), 0.0, 2
        if self.line is not None:
            border = float(self.line.onsets[0] + self.line.onsets[-1] - self.line.length) / 2
            least = min(2, len(self.line))
        first, last = take.beat.at(border), take.beat.at(border + length * loops)
        return sum(first <= note.start < last for note in take.notes) >= least

    def _beat_of(self, notes: Sequence[Played], click: Click) -> Beat | None:
        if click.tempo is None or not notes:
            return None
        quarter = 60 / click.tempo
        if click.start is not None or self.line is None:
            return Beat(notes[0].start if click.start is None else click.start, quarter)
        return beat_found(self.line, notes, quarter)


def save_wav(place: Path, sound: bytes, rate: int) -> None:
    """Write a recording of one channel, 16 bit; raise BadInput where it can't be written."""
    data = io.BytesIO()
    with wave.open(data, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(sound)
    write_whole(place, data.getvalue(), private=True)


def hear_file(listener: Listener, place: Path, click: Click, tick: Tick = silent) -> Heard:
    """Return what is proposed for a recording, a MIDI or a WAV file.

    Of several MIDI parts the one that fits the line best is judged, and that is told; ``tick``
    hears how far it has come. Raises NotFound where there is none, BadInput for what can't be
    heard.
    """
    data = recording(place)
    from drillbox.hearing.files import read_midi, read_wav

    try:
        if place.suffix.lower() == ".wav":
            return listener.hear_sound(*read_wav(data), click, tick)
        parts = read_midi(data)
    except BadInput as problem:
        raise BadInput(f"{place.name}: {problem.what}", problem.remedy) from problem
    part = listener.best_part(parts, click, tick)
    heard = listener.hear(part, "midi", click)
    if part is parts[0]:
        return heard
    return heard._replace(text=f"{heard.text} (of several parts the one that fits best)")


def recording(place: Path) -> bytes:
    """Return a recording's bytes; raise NotFound or BadInput where it can't be heard."""
    refuse_folder(place)
    if place.suffix.lower() not in KINDS:
        raise BadInput(f"{place.name!r} is neither a WAV nor a MIDI file", "Name one of these.")
    refuse_special(place)
    try:
        if place.stat().st_size > LARGEST:
            raise BadInput(f"{place} is too large to be one go", "Cut it to one go.")
        return place.read_bytes()
    except FileNotFoundError:
        raise NotFound(f"There is no file {place}", "Check the name and the folder.") from None
    except OSError as problem:
        raise BadInput(f"{place} can't be read: {problem.strerror}", "Name another.") from problem


def sounding_name(pitch_class: int, preferences: Preferences, *, ascii: bool) -> str:
    """Return what the player calls a sounding pitch class."""
    above = preferences.instrument.above.semitones if preferences.transposes else 0
    return FLATS[(pitch_class + above) % 12].text(ascii=ascii)
