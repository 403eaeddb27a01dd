"""Bring phrases in: from a typed chart or a file, checked, in twelve keys, then stored."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from drillbox.errors import BadInput, NotFound
from drillbox.memory.tempo import first_tempo
from drillbox.music.analysis.cautions import Caution
from drillbox.music.analysis.whole import Analysis, analyse
from drillbox.music.charts import Chart, Meter
from drillbox.music.keys import Key, in_order, parse_key
from drillbox.music.moving.transposition import Fit, phrase_to
from drillbox.music.moving.written import at_concert_pitch
from drillbox.music.phrases import HIGHEST_TEMPO, LOWEST_TEMPO, Phrase
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.titles import check_title, folded
from drillbox.music.turnarounds import propose_turnaround
from drillbox.practice.phrases.as_read import as_read, misfits
from drillbox.practice.settings.preferences import Preferences
from drillbox.store.phrase_rows import NewCard, NewPhrase, add_phrases, titles
from drillbox.store.places import refuse_special
from drillbox.store.values import PhraseRecord
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    from drillbox.music.moving.octave_breaks import Breaks
    from drillbox.notation import Limits, Reading
    from drillbox.store.access import Store


@dataclass(frozen=True, slots=True)
class Prepared:
    """A checked phrase at concert pitch, ready to be stored.

    ``keys`` is the phrase in each of its twelve keys, in the order in which they open, each
    at the ``tempo`` of a new card.
    """

    phrase: Phrase
    order: str
    tempo: int
    keys: tuple[Phrase, ...]
    analysis: Analysis


@dataclass(frozen=True, slots=True)
class Understood:
    """What was understood of a phrase, as the player reads it.

    ``versions`` are its twelve keys in order; ``misfits`` those in which the line leaves the
    range of the ``instrument``, and how far; ``breaks`` those in which it breaks the octave.
    """

    phrase: Phrase
    versions: tuple[Phrase, ...]
    cautions: tuple[Caution, ...]
    misfits: tuple[tuple[Key, Fit], ...] = ()
    instrument: str = ""
    breaks: Breaks = ()


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
            raise BadInput(f"{str(path)!r} is a folder", "Name one file in it")
        refuse_special(path)
        if not path.is_file():
            raise NotFound(f"There is no file {str(path)!r}", "Check the name and the folder")
        if path.stat().st_size > MAX_BYTES:
            raise BadInput(
                f"{path.name} has {path.stat().st_size / 1e6:.0f} MB",
                f"A notation file has at most {MAX_BYTES / 1e6:.0f} MB",
            )
        data = path.read_bytes()
    except OSError as problem:
        raise BadInput(f"Can't read {str(path)!r}: {problem.strerror}", "Check the file") from None
    return read_bytes(
        data, path.name, part=part, limits=limits or Limits(),
        tempo=tempo, title=title, key=key, meter=meter, tick=tick,
    )  # fmt: skip


def proposed(phrase: Phrase, preferences: Preferences) -> Chart | None:
    """Return the chart with a turnaround proposed, or None where it needs none."""
    return propose_turnaround(phrase.chart, phrase.key, preferences.turnaround)


def sounding(phrase: Phrase, preferences: Preferences) -> Phrase:
    """Return at concert pitch what the player has written for their instrument."""
    if preferences.values["instrument"] == "concert":
        return phrase
    return at_concert_pitch(phrase, preferences.instrument, preferences.spelling)


def prepare(phrase: Phrase, preferences: Preferences, *, order: str | None = None) -> Prepared:
    """Carry a phrase at concert pitch into its twelve keys, written key first; analyse it once.

    The line lies in the octave that fits the player's instrument in each key. Raises BadInput
    where the player's own order is asked for and none is set.
    """
    named = order or preferences.order
    keys = keys_in_order(phrase.key, named, preferences)
    versions = tuple(
        phrase_to(phrase, key, sounding_range=preferences.sounding_range) for key in keys
    )
    tempo = first_tempo(phrase.tempo, preferences.rules.tempo)
    return Prepared(phrase, named, tempo, versions, analyse(phrase))


def keys_in_order(first: Key, order: str, preferences: Preferences) -> tuple[Key, ...]:
    """Return the twelve keys in an order, from the written one; BadInput where it isn't set."""
    own = preferences.own_order(first.mode)
    if order == "own" and not own:
        raise BadInput(
            "Your own order of keys is empty",
            "List all twelve: drillbox settings own_order 'C G D A E B Gb Db Ab Eb Bb F'",
        )
    return tuple(in_order(first, order, preferences.spelling, own))


def understood(prepared: Prepared, preferences: Preferences, breaks: Breaks = ()) -> Understood:
    """Return what was understood of a phrase, as the player reads it, with its octave breaks."""
    phrase = prepared.phrase
    keys = tuple(each.key for each in prepared.keys)
    return Understood(
        as_read(phrase, phrase.key, preferences),
        tuple(as_read(phrase, key, preferences) for key in keys),
        prepared.analysis.cautions,
        misfits(phrase, [(each.key, each.line) for each in prepared.keys], preferences),
        preferences.instrument.name,
        breaks,
    )


def check_new(store: Store, phrases: Sequence[Phrase]) -> None:
    """Raise BadInput if a title is taken, in the store or among these phrases."""
    wanted = [phrase.title for phrase in phrases]
    new = new_titles(store, wanted)
    if all(new):
        return
    taken = folded(wanted[new.index(False)])
    there = next(each for each in [*_in_practice(store), *wanted] if folded(each) == taken)
    remedy = "Choose another title with --title, or see the other with 'drillbox show'"
    if len(wanted) > 1:
        remedy = "Change one of the titles in the file, or take the rest with --keep-good"
    raise BadInput(f"There is a phrase {there!r} already", remedy)


def _in_practice(store: Store) -> list[str]:
    """Return the titles that are taken: a retired phrase gives its own away."""
    return titles(store, retired=False)


def new_titles(store: Store, wanted: Sequence[str]) -> list[bool]:
    """For each title, is it new: neither in the store nor before it in the list?"""
    taken = {folded(title) for title in _in_practice(store)}
    new = []
    for title in wanted:
        new.append(folded(title) not in taken)
        taken.add(folded(title))
    return new


def keep(store: Store, prepared: Sequence[Prepared], now: datetime) -> list[PhraseRecord]:
    """Store all of these phrases in one transaction, or none; return them as stored."""
    check_new(store, [each.phrase for each in prepared])
    return add_phrases(store, [_new_phrase(each) for each in prepared], now)


def _new_phrase(prepared: Prepared) -> NewPhrase:
    cards = tuple(
        NewCard(key=each.key, chart=each.chart, line=each.line, tempo=prepared.tempo)
        for each in prepared.keys
    )
    return NewPhrase(prepared.phrase, prepared.order, cards, prepared.analysis)


def with_chart(phrase: Phrase, chart: Chart) -> Phrase:
    """Return the phrase over another chart."""
    return replace(phrase, chart=chart)
