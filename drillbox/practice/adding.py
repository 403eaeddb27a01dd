"""Bring phrases in, typed or from a file: at concert pitch, in twelve keys, then stored."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from drillbox.errors import BadInput, NotFound
from drillbox.music.analysis.cautions import Caution
from drillbox.music.analysis.whole import Analysis, analyse
from drillbox.music.charts import Chart, Meter
from drillbox.music.keys import Key, parse_key
from drillbox.music.moving.instruments import at_concert_pitch, laid
from drillbox.music.moving.transposition import Fit, phrase_to
from drillbox.music.phrases import (
    LineNote,
    Phrase,
    are_new,
    check_tempo,
    check_title,
    folded_title,
)
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.turnarounds import leaves_room, propose_turnaround
from drillbox.practice.preferences import Preferences, as_read
from drillbox.practice.ranges import breaks_in, misfits
from drillbox.store.phrase_rows import add_phrases, all_titles
from drillbox.store.values import NewPhrase, PhraseRecord, new_cards
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    from drillbox.music.moving.instruments import Breaks
    from drillbox.notation import Limits, Reading
    from drillbox.store.access import Store


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
    goal: int | None = None,
    sounding: Key | None = None,
    limits: Limits | None = None,
    tick: Tick = silent,
) -> Reading:
    """Read a notation file; tempo, title, key and meter stand in where it has none.

    The key is the one on the page; for one that says how it sounds, ``sounding`` comes first.
    ``goal`` is the tempo of all its tunes, whatever they say. ``tick`` hears of tunes read.

    Raises NotFound where there is no such file and BadInput where it can't be used.
    """
    from drillbox.notation import (
        MAX_BYTES,
        Limits,
        read_bytes,
    )  # music21: only when a file comes in

    try:
        if path.is_dir():
            raise BadInput(f"{str(path)!r} is a folder", "Name one file in it.")
        if path.exists() and not path.is_file():
            raise BadInput(f"{str(path)!r} isn't a plain file", "Name an ABC or MusicXML file.")
        if not path.is_file():
            raise NotFound(f"There is no file {str(path)!r}", "Check the name and the folder.")
        if path.stat().st_size > MAX_BYTES:
            raise BadInput(
                f"{path.name} has {path.stat().st_size / 1e6:.0f} MB",
                f"A notation file has at most {MAX_BYTES / 1e6:.0f} MB.",
            )
        data = path.read_bytes()
    except OSError as problem:
        raise BadInput(f"Can't read {str(path)!r}: {problem.strerror}", "Check the file.") from None
    return read_bytes(
        data, path.name, part=part, limits=limits or Limits(),
        tempo=tempo, title=title, key=key, meter=meter, goal=goal, sounding=sounding, tick=tick,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Prepared:
    """A checked phrase at concert pitch, ready to be stored.

    ``keys`` is the phrase in each of its twelve keys, in the order in which they open, with its
    octaves broken for the player's range where ``octave_breaks`` says so.
    """

    phrase: Phrase
    order: str
    keys: tuple[Phrase, ...]
    analysis: Analysis
    octave_breaks: bool = False

    @property
    def lines(self) -> list[tuple[Key, tuple[LineNote, ...]]]:
        """Return the line in each key."""
        return [(each.key, each.line) for each in self.keys]


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


@dataclass(frozen=True, slots=True)
class Incoming:
    """A phrase as it came; ``concert`` where its page says how it sounds.

    ``doubts`` are lines on what is doubtful in its file.
    """

    phrase: Phrase
    concert: bool = False
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """A phrase ready to be kept, what the player is shown of it, and the doubts in its file."""

    prepared: Prepared
    view: Understood
    doubts: tuple[str, ...]


class Asks(Protocol):
    """What the player is told and asked while phrases come in."""

    def taken_as_written(self, written: Phrase, sounding: Phrase) -> None:
        """Hear that phrases were read in the written pitch, the first of them so."""

    def skipped(self, title: str) -> None:
        """Hear that a phrase is left out as its title is taken."""

    def turnarounds(self, read: Sequence[Phrase]) -> bool:
        """Decide whether these phrases, as the player reads them, get the turnarounds they have."""

    def no_room(self, titles: Sequence[str]) -> None:
        """Hear whose last bar leaves no room for a turnaround, for the notes of the line there."""

    def octave_breaks(self, phrase: Phrase, found: Breaks) -> bool:
        """Decide whether a phrase breaks the octave in the keys that leave the range.

        ``found`` is where it would now; nowhere, it may with another instrument.
        """

    def carrying(self) -> AbstractContextManager[Tick]:
        """Give what hears how many phrases of how many were carried through their keys."""


def bring_in(
    came: Sequence[Incoming],
    preferences: Preferences,
    asks: Asks,
    *,
    store: Store | None = None,
    order: str | None = None,
    skip_taken: bool = False,
) -> list[BroughtIn]:
    """Return phrases ready to be kept: at concert pitch, decided upon, in twelve keys.

    Their titles must be new among themselves and in ``store``, None before there is one; with
    ``skip_taken`` the others come in. Raises BadInput for a taken title, and for an order that
    isn't set, before anything is asked.
    """
    check_order(order, preferences)
    taken = _taken(store) if store is not None else []
    came = _without_taken(came, taken, asks) if skip_taken else came
    _check_new([each.phrase for each in came], taken)
    sound = _all_sounding(came, preferences, asks)
    decided = _with_turnarounds(sound, preferences, asks)
    prepared = []
    with asks.carrying() as tick:
        for number, phrase in enumerate(decided, start=1):
            prepared.append(prepare(phrase, preferences, order=order))
            tick(number, len(decided))
    ready = [_with_breaks(each, preferences, asks) for each in prepared]
    return [
        BroughtIn(each, _understood(each, preferences), incoming.doubts)
        for each, incoming in zip(ready, came, strict=True)
    ]


def _without_taken(came: Sequence[Incoming], taken: Sequence[str], asks: Asks) -> list[Incoming]:
    new = are_new([each.phrase.title for each in came], taken)
    for each, is_new in zip(came, new, strict=True):
        if not is_new:
            asks.skipped(each.phrase.title)
    return [each for each, is_new in zip(came, new, strict=True) if is_new]


def _all_sounding(came: Sequence[Incoming], preferences: Preferences, asks: Asks) -> list[Phrase]:
    """Return the phrases at concert pitch; those read as written are told of."""
    sound = [each.phrase if each.concert else sounding(each.phrase, preferences) for each in came]
    lowered = [
        (each.phrase, low)
        for each, low in zip(came, sound, strict=True)
        if not each.concert and low != each.phrase
    ]
    if lowered:
        asks.taken_as_written(*lowered[0])
    return sound


def _with_turnarounds(
    phrases: Sequence[Phrase], preferences: Preferences, asks: Asks
) -> list[Phrase]:
    led = list(phrases)
    told, crowded = [], []
    for index, each in enumerate(phrases):
        if each.chart.turnaround:
            continue
        chart = propose_turnaround(each.chart, each.key, preferences.turnaround)
        if chart is not None and not leaves_room(each.line, chart, each.key):
            crowded.append(each.title)
        elif chart is not None:
            led[index] = replace(each, chart=chart)
            told.append(as_read(led[index], each.key, preferences))
    if crowded:
        asks.no_room(crowded)
    return led if told and asks.turnarounds(told) else list(phrases)


def _with_breaks(prepared: Prepared, preferences: Preferences, asks: Asks) -> Prepared:
    phrase, reach = prepared.phrase, preferences.sounding_range
    broken = replace(prepared, octave_breaks=True)
    if misfits(phrase, prepared.lines, preferences):
        there = (laid(phrase, key, breaking=True, sounding_range=reach) for key, _ in broken.lines)
        broken = replace(broken, keys=tuple(there))
    found = breaks_in(phrase, broken.lines, preferences)
    return broken if asks.octave_breaks(phrase, found) else prepared


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
    keys = preferences.keys_in_order(phrase.key, named)
    versions = tuple(
        phrase_to(phrase, key, sounding_range=preferences.sounding_range) for key in keys
    )
    return Prepared(phrase, named, versions, analyse(phrase))


def _understood(prepared: Prepared, preferences: Preferences) -> Understood:
    """Return what was understood of a phrase, as the player reads it."""
    phrase = prepared.phrase
    read = as_read(phrase, phrase.key, preferences)
    versions = tuple(as_read(phrase, each.key, preferences) for each in prepared.keys)
    cautions = prepared.analysis.cautions
    if not phrase.line:
        return Understood(read, versions, cautions)
    return Understood(
        read,
        versions,
        cautions,
        misfits(phrase, prepared.lines, preferences),
        preferences.instrument.name,
        breaks_in(phrase, prepared.lines, preferences),
    )


def check_chords(chart: Chart) -> None:
    """Raise BadInput for a chart in which no chord sounds."""
    if not chart.sounding():
        raise BadInput("The chart has no chords", "Write them as in  Dm7 G7 | Cmaj7")


def check_order(order: str | None, preferences: Preferences) -> None:
    """Raise BadInput for an order that there isn't, and for the player's own where none is set."""
    preferences.keys_in_order(parse_key("C"), order or preferences.order)


def check_free(title: str, taken: Iterable[str]) -> str:
    """Return a title; raise BadInput where it is among those that are taken."""
    if not all(are_new([title], taken)):
        raise _title_taken(
            title, taken, "Choose another title, or see that phrase with 'drillbox show'"
        )
    return title


def _taken(store: Store) -> list[str]:
    return all_titles(store, retired=False)  # a retired phrase gives its own away


def _check_new(phrases: Sequence[Phrase], taken: Sequence[str]) -> None:
    """Raise BadInput if the title of one of these phrases is taken, by another of them as well."""
    wanted = [phrase.title for phrase in phrases]
    new = are_new(wanted, taken)
    if all(new):
        return
    remedy = "Choose another title with --title, or see the other with 'drillbox show'"
    if len(wanted) > 1:
        remedy = "Change one of the titles in the file, or take the rest with --keep-good"
    raise _title_taken(wanted[new.index(False)], (*taken, *wanted), remedy)


def _title_taken(title: str, taken: Iterable[str], remedy: str) -> BadInput:
    folded = folded_title(title)
    first = next(each for each in taken if folded_title(each) == folded)
    return BadInput(f"There is a phrase {first!r} already", remedy)


def keep(store: Store, prepared: Sequence[Prepared], now: datetime) -> list[PhraseRecord]:
    """Store all of these phrases in one transaction, or none; return them as stored.

    Raises BadInput where a title has been taken meanwhile.
    """
    return add_phrases(store, [_new_phrase(each) for each in prepared], now)


def _new_phrase(prepared: Prepared) -> NewPhrase:
    return NewPhrase(
        prepared.phrase,
        prepared.order,
        new_cards(prepared.keys),
        prepared.analysis,
        octave_breaks=prepared.octave_breaks,
    )
