"""What a practice loop is made of: one key of a phrase, or its round of twelve."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Literal, NamedTuple, get_args

from drillbox.errors import BadInput
from drillbox.music.keys import Key, is_signed, parse_key, transposed_key
from drillbox.music.moving.transposition import chart_to
from drillbox.music.phrases import LineNote
from drillbox.music.pulse import CountedBeats
from drillbox.music.tunes import Tune
from drillbox.practice.preferences import Preferences, card_as_read, card_in, tune_as_read
from drillbox.practice.rounds import led_back, led_on, round_cards, slowest_tempo
from drillbox.sound.loop_parts import LoopOptions, LoopPart, refuse_longer, swing_ratio, swung
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.values import CardRecord, PhraseRecord
from drillbox.tick import Tick, silent

KINDS = (".wav", ".mid", ".midi")
LOOPS, LOOPS_IN_A_ROUND, CHORUSES = 8, 1, 3

Cues = Callable[[Tune, Sequence[int]], Sequence[tuple[Fraction, str]]]
"""When in some bars of a tune, as they are played one after another, which phrase is to be played:
in quarter notes from the first of them, and in words."""


class Wanted(NamedTuple):
    """Which loop is wanted. ``key`` is as the player reads it, None for the written one.

    ``turns``: once through all keys but those put aside, in an ``order`` of
    ``music.keys.ORDERS`` or in the phrase's own, each key ``loops`` times. ``tempo`` None: the
    one that a drill would show, of the slowest key. ``double`` None: as the phrase is.
    """

    key: str | None = None
    tempo: int | None = None
    loops: int | None = None
    double: bool | None = None
    turns: bool = False
    order: str | None = None


class Heard(NamedTuple):
    """What sounds: the beats clicked (None: the count-in alone), which bass, chords, the line."""

    clicks: CountedBeats | None = "every"
    bass: Literal["plain", "walking"] | None = "plain"
    chords: bool = True
    line: bool = False


class Loop(NamedTuple):
    """A loop's parts at concert pitch, what sounds, and its title and key as the player reads.

    ``turns`` is how many keys it goes through, of which ``key`` is the first, and ``aside``
    those that it leaves out; 0 and none where it stays in one.
    """

    parts: tuple[LoopPart, ...]
    options: LoopOptions
    title: str
    key: Key
    turns: int = 0
    aside: tuple[Key, ...] = ()


def loop_of(
    store: Store,
    preferences: Preferences,
    record: PhraseRecord,
    wanted: Wanted,
    heard: Heard,
) -> Loop:
    """Return a loop over a phrase.

    Raises BadInput for a key or an order that there isn't, and for a line that there isn't.
    """
    if heard.line and not record.phrase.line:
        raise BadInput(
            f"{record.title!r} has no line, only a chart", "Add it from a file of notes."
        )
    cards = _cards_wanted(store, preferences, record, wanted)
    first, tempo = cards[0], wanted.tempo or slowest_tempo(cards)
    parts, times = [_part_of(first)], wanted.loops or LOOPS
    if wanted.turns:
        loops = wanted.loops or LOOPS_IN_A_ROUND
        refuse_longer(first.chart.length * len(cards) * loops, tempo)  # before so much is made
        parts, times = _parts_in_turn(cards, loops), 1
    doubled = first.double_time if wanted.double is None else wanted.double
    options = _loop_options(heard, tempo, times, doubled)
    if heard.line:
        lines = {card.key.text(): swung_line(card, tempo, preferences) for card in cards}
        parts = [replace(part, line=lines[part.key_text]) for part in parts]
    read = card_as_read(store, first, preferences)
    made = Loop(tuple(parts), options, read.title, read.key)
    if not wanted.turns:
        return made
    away = [card.key for card in cards_of(store, record.id) if card.aside]
    aside = tuple(preferences.shown_key(key, record.phrase.key) for key in away)
    return made._replace(turns=len(cards), aside=aside)


def _cards_wanted(
    store: Store, preferences: Preferences, record: PhraseRecord, wanted: Wanted
) -> list[CardRecord]:
    """Return the card of the key that is wanted, or those of a round in its order."""
    if wanted.turns:
        return round_cards(
            store, preferences, record, order=wanted.order, start=wanted.key, whole=True
        )
    cards = cards_of(store, record.id)
    if wanted.key is not None:
        return [card_in(record.phrase, cards, wanted.key, preferences)]
    return cards[:1]


def tune_loop(
    preferences: Preferences, tune: Tune, wanted: Wanted, heard: Heard, cues: Cues = lambda *_: ()
) -> Loop:
    """Return a loop over a tune at concert pitch: its intro, so many choruses, its coda.

    ``cues`` gets the tune in the key and at the tempo that are wanted and its bars as they are
    played, and returns when which phrase is to be played. Raises BadInput for a key that can't be
    read, for what only a phrase has, and for more choruses than a file holds.
    """
    if wanted.turns:
        raise BadInput(
            "--round is for a phrase", "Name the tune's key with --key, or leave it out."
        )
    if heard.line:
        raise BadInput("--line is for a phrase", "Leave it out: a tune is kept as its chords.")
    if wanted.key is not None:
        tune = in_key(tune, wanted.key, preferences)
    tune, choruses = replace(tune, tempo=wanted.tempo or tune.tempo), wanted.loops or CHORUSES
    bars, (first, end), bar = tune.chart.bars, tune.chorus, tune.chart.meter.bar
    refuse_longer(bar * (len(bars) + (end - first) * (choruses - 1)), tune.tempo)
    by_bar: defaultdict[int, list[tuple[Fraction, str]]] = defaultdict(list)
    for at, text in cues(tune, tune.bars_played(choruses)):
        by_bar[int(at // bar)].append((at, text))
    parts: list[LoopPart] = []
    played = 0
    ranges = [(0, first, "intro"), *[(first, end, "")] * choruses, (end, len(bars), "coda")]
    for begin, after, mark in ranges:
        if begin == after:
            continue
        there = range(played, played + after - begin)
        inside = [(at - bar * played, text) for number in there for at, text in by_bar[number]]
        chart = replace(tune.chart, bars=bars[begin:after])
        parts.append(LoopPart(chart, tune.key.text(), tune.title, tuple(inside), mark=mark))
        played = there.stop
    options = _loop_options(heard, tune.tempo, 1, bool(wanted.double))
    return Loop(tuple(parts), options, tune.title, tune_as_read(tune, preferences).key)


def in_key(tune: Tune, text: str, preferences: Preferences) -> Tune:
    """Return a tune in the key that the player names as they read it.

    A tonic alone keeps the tune's mode; BadInput is raised for a key of another one.
    """
    named = parse_key(text)
    read = tune_as_read(tune, preferences).key
    if named.mode not in ("major", read.mode):
        raise BadInput(
            f"{tune.title!r} is in {read.text()}, so it can't be played in {named.text()}",
            f"Name the tonic alone, such as --key {named.tonic.text()}.",
        )
    up = read.interval_to(replace(named, mode=tune.key.mode))
    key = replace(tune.key, tonic=tune.key.tonic.up(up))
    if not is_signed(key):  # Cb for an alto sax is D at concert pitch, not Ebb
        key, up = transposed_key(tune.key, up)
    return replace(tune, key=key, chart=chart_to(tune.chart, up, key))


def _loop_options(heard: Heard, tempo: int, times: int, doubled: bool) -> LoopOptions:
    return LoopOptions(
        tempo=tempo, loops=times, doubled=doubled,
        clicks=heard.clicks, bass=heard.bass, chords=heard.chords,
    )  # fmt: skip


def line_heard(
    store: Store, preferences: Preferences, record: PhraseRecord, key: str | None
) -> Loop:
    """Return a phrase's line once through, in the written key where none is named."""
    return loop_of(store, preferences, record, Wanted(key, loops=1), Heard(line=True))


def line_loop(card: CardRecord, tempo: int, preferences: Preferences) -> Loop:
    """Return a card's line once through over bass and chords, as it is heard in a drill."""
    part = replace(_part_of(card), line=swung_line(card, tempo, preferences))
    options = LoopOptions(tempo, loops=1, doubled=card.double_time)
    return Loop((part,), options, card.title, card.key)


def swung_line(card: CardRecord, tempo: int, preferences: Preferences) -> tuple[LineNote, ...]:
    """Return a card's line at concert pitch with its eighths swung as the player has set."""
    meter, double = card.chart.meter, card.double_time
    ratio = swing_ratio(preferences.swing, tempo, meter, double_time=double)
    return tuple(swung(card.line, ratio))


def _parts_in_turn(cards: Sequence[CardRecord], loops: int) -> list[LoopPart]:
    """Return the parts of a round: each card ``loops`` times, the last time leading on."""
    parts: list[LoopPart] = []
    for card, on in zip(cards, led_on(cards), strict=True):
        back = LoopPart(led_back(card), card.key.text(), card.title)
        parts += [back] * (loops - 1) + [LoopPart(on, card.key.text(), card.title)]
    return parts


def _part_of(card: CardRecord) -> LoopPart:
    return LoopPart(card.chart, card.key.text(), card.title)


def clicks_named(name: str) -> CountedBeats | None:
    """Return the beats that a player wants clicked; raise BadInput for a name that is none."""
    for which in get_args(CountedBeats):
        if which == name:
            return which  # type: ignore[no-any-return] # get_args knows no types
    if name == "off":
        return None
    raise BadInput(
        f"--click {name!r} isn't a choice", f"Choose {', '.join(get_args(CountedBeats))} or off."
    )


def check_kind(place: Path) -> str:
    """Return a file's kind, as in ``KINDS``; raise BadInput for a name that ends in none."""
    kind = place.suffix.lower()
    if kind not in KINDS:
        raise BadInput(
            f"{place.name!r} is neither a WAV nor a MIDI file", "End its name in .wav or .mid."
        )
    return kind


def render(loop: Loop, kind: str, tick: Tick = silent) -> bytes:
    """Return the loop as a file of a kind among ``KINDS``; raises BadInput as ``lay_out`` does.

    ``tick`` hears how far it has come.
    """
    if kind == ".wav":
        from drillbox.sound.wave import render_wav  # brings numpy

        return render_wav(loop.parts, loop.options, tick)
    from drillbox.sound.midi import render_midi  # brings mido

    return render_midi(loop.parts, loop.options, tick)


def seconds(loop: Loop) -> float:
    """Return how long a loop lasts, its count-in included."""
    from drillbox.sound.loop_parts import lay_out

    layout = lay_out(loop.parts, loop.options)
    return float(layout.seconds(layout.total))
