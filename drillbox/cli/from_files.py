"""Phrases out of a notation file: which of its tunes, which of their bars."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from drillbox.cli.asking import Wanted, ask_until_right
from drillbox.cli.context import Asked, waiting
from drillbox.cli.given import refuse_both
from drillbox.errors import BadInput
from drillbox.output import tell

if TYPE_CHECKING:
    from drillbox.music.phrases import Phrase
    from drillbox.music.pitch import Interval
    from drillbox.notation import Problem, Reading, Tune
    from drillbox.practice.adding import Incoming
    from drillbox.practice.preferences import Preferences

_UNHEARD = 120  # a list shows no tempo


def from_file(options: Asked, file: Path | None, wanted: Wanted) -> list[Incoming]:
    """Read a file's phrases; say on stderr what is wrong, and raise BadInput if that stops it.

    A tempo that was given is their goal whatever the file says, and double time is taken from
    either; a title is that of a single phrase. A meter and a key stand in where the file has none,
    and may not contradict it.
    """
    from drillbox.music.phrases import parse_bars
    from drillbox.practice.adding import Incoming
    from drillbox.practice.taking import as_said, taken_from

    bars = parse_bars(wanted.bars) if wanted.bars is not None else None
    path = _named(file, wanted)
    reading = _chosen(_read_timed(options, path, wanted), wanted, path.name)
    report_problems(path.name, reading, doubts=False, ascii=options.look.ascii)
    refuse_bad(path.name, reading, keep_good=wanted.keep_good)
    came = []
    for tune in reading.tunes:
        if tune.phrase is not None:
            taken = taken_from(tune.phrase, tune.keys, bars, wanted.typed.title)
            if bars is None:
                _say_if_long(tune.phrase)
            phrase = as_said(
                taken,
                path.name,
                key=wanted.typed.key,
                meter=wanted.typed.meter,
                interval=tune.interval,
            )
            if wanted.typed.double_time:
                phrase = replace(phrase, double_time=True)
            doubts = _doubts_of_taken(path.name, tune, phrase, bars, ascii=options.look.ascii)
            came.append(Incoming(phrase, tune.concert, tuple(doubts)))
    return came


def _say_if_long(phrase: Phrase) -> None:
    """Say on stderr how a phrase is taken out of a tune, where a whole one was taken in."""
    from drillbox.music.phrases import LONG_PHRASE

    if (count := len(phrase.chart.bars)) > LONG_PHRASE:
        tell(f"{phrase.title!r} has {count} bars: --bars 5-8 takes a phrase out, --list shows them")


def _chosen(reading: Reading, wanted: Wanted, name: str) -> Reading:
    """Return what was read, with the one tune that is wanted, or with all."""
    from drillbox.practice.taking import chosen_tune

    of_one = wanted.bars is not None or wanted.typed.title is not None
    return chosen_tune(reading, wanted.tune, name, of_one=of_one)


def list_file(options: Asked, file: Path | None, wanted: Wanted, *, concert: bool) -> None:
    """Show the bars of a file's tunes with their chords, numbered as they are played.

    What is known to be at concert pitch is shown as the player's instrument reads it.
    """
    from drillbox.practice.preferences import as_read
    from drillbox.screen.lead_sheet import listing_screen

    path = _named(file, wanted)
    reading = _chosen(_read(path, wanted, whole=True, tempo=_UNHEARD), wanted, path.name)
    report_problems(path.name, reading, doubts=False, ascii=options.look.ascii)
    preferences, typed = _preferences(options), wanted.typed
    for tune, page in pages_told(options, path.name, reading, key=typed.key, meter=typed.meter):
        read = as_read(page, page.key, preferences) if concert or tune.concert else page
        options.show(listing_screen(tune.index, read, options.look))
    if all(tune.phrase is None for tune in reading.tunes):
        raise BadInput(f"No tune in {path.name} can be read", "Fix the file.")


def pages_told(
    options: Asked, name: str, reading: Reading, *, key: str | None, meter: str | None
) -> Iterator[tuple[Tune, Phrase]]:
    """Yield the whole tunes that can be read, each in the key that the player says its page is in,
    after saying on stderr what is doubtful in it."""
    from drillbox.practice.taking import as_said

    for tune in reading.tunes:
        if tune.phrase is not None:
            page = as_said(tune.phrase, name, key=key, meter=meter, interval=tune.interval)
            for line in _doubts_of_taken(name, tune, page, None, ascii=options.look.ascii):
                tell(line)
            yield tune, page


def _preferences(options: Asked) -> Preferences:
    """Return the player's settings; a store isn't made for that."""
    if not options.store_exists():
        return options.defaults()
    with options.opened() as (_, preferences):
        return preferences


def _named(file: Path | None, wanted: Wanted) -> Path:
    if file is None:
        given = ", ".join(wanted.of_a_file) or "--list"
        needs = "need" if len(wanted.of_a_file) > 1 else "needs"
        raise BadInput(f"{given} {needs} a file", "Name one: drillbox add FILE")
    refuse_both(file, wanted.typed.chart)
    return file


def _read_timed(options: Asked, path: Path, wanted: Wanted) -> Reading:
    """Read a file; at a terminal ask once for the tempo that some of its tunes lack."""
    from drillbox.music.phrases import check_tempo

    given = wanted.typed.tempo
    goal = check_tempo(given) if given is not None else None
    whole = wanted.bars is not None
    reading = _read(path, wanted, whole=whole, goal=goal)
    lacking = [tune for tune in _chosen(reading, wanted, path.name).tunes if tune.needs_tempo]
    if not (lacking and options.terminal.interactive):
        return reading
    which = f"{len(lacking)} tunes have" if len(lacking) > 1 else f"{lacking[0].title!r} has"
    prompt = f"{which} no tempo in the file. Goal tempo (quarter notes a minute)"
    return _read(path, wanted, whole=whole, tempo=ask_until_right(prompt, check_tempo, None))


def _read(
    path: Path, wanted: Wanted, *, whole: bool, tempo: int | None = None, goal: int | None = None
) -> Reading:
    """Read a file with what was given on the command line; ``whole``: tunes of any length.

    ``tempo`` is for tunes that have none, ``goal`` for all.
    """
    from drillbox.music.keys import parse_key
    from drillbox.music.phrases import check_title
    from drillbox.music.symbols.typed import parse_meter
    from drillbox.notation import WHOLE
    from drillbox.practice.adding import read_file

    typed = wanted.typed
    title = check_title(typed.title) if typed.title is not None else None
    key = parse_key(typed.key) if typed.key is not None else None
    meter = parse_meter(typed.meter) if typed.meter is not None else None
    with waiting("Reading tunes") as tick:
        return read_file(
            path,
            part=wanted.part,
            tempo=tempo,
            title=title,
            key=key,
            meter=meter,
            goal=goal,
            limits=WHOLE if whole else None,
            tick=tick,
        )


def refuse_bad(name: str, reading: Reading, *, keep_good: bool) -> None:
    """Raise BadInput where tunes of a file are bad, unless the good ones are to be kept."""
    bad = sum(tune.phrase is None for tune in reading.tunes)
    good = len(reading.tunes) - bad
    if bad and not (keep_good and good):
        remedy = f"Fix the file{', or take the readable ones with --keep-good' if good else ''}."
        raise BadInput(
            f"{bad} of {len(reading.tunes)} tunes in {name} can't be used; nothing is stored",
            remedy,
        )


def report_problems(name: str, reading: Reading, *, doubts: bool = True, ascii: bool) -> None:
    """Say on stderr, a line each, what is wrong in a file, and what is doubtful."""
    for tune in reading.tunes:
        for problem in tune.problems:
            tell(_line(name, tune, "", problem))
        for line in doubts_of(name, tune, ascii=ascii) if doubts else ():
            tell(line)


def doubts_of(name: str, tune: Tune, *, ascii: bool) -> list[str]:
    """Return what is doubtful in one tune of a file, a line each."""
    moves = _moves_as(tune.phrase, tune.interval, ascii=ascii) if tune.phrase else None
    return _check_lines(name, tune, tune.doubts, moves[0] if moves else "")


def _doubts_of_taken(
    name: str, tune: Tune, phrase: Phrase, bars: tuple[int, int] | None, *, ascii: bool
) -> list[str]:
    """Return what is doubtful in a phrase out of a tune, and in what it was taken from.

    That the key changes is left out where it doesn't in the bars that were taken.
    """
    from drillbox.notation import KEY_CHANGES

    one_key = bars and len(set(tune.keys[bars[0] - 1 : bars[1]])) == 1
    doubts = [each for each in tune.doubts if not (one_key and each.text.endswith(KEY_CHANGES))]
    moves = _moves_as(phrase, tune.interval, ascii=ascii)
    meant = f"{moves[0]} (--key {moves[1]}, if that is meant)" if moves else ""
    return _check_lines(name, tune, doubts, meant)


def _check_lines(name: str, tune: Tune, doubts: Iterable[Problem], moves: str) -> list[str]:
    return [
        *(_line(name, tune, "check: ", doubt) for doubt in doubts),
        *([f"{name}: {_title(tune)}: check: {moves}"] if moves else []),
    ]


def _moves_as(phrase: Phrase, interval: Interval, *, ascii: bool) -> tuple[str, str] | None:
    """Return in words that a phrase moves as in another key than its own, and that key to type.

    Both are keys on its page, an ``interval`` below.
    """
    from drillbox.music.analysis.functions import key_it_moves_as
    from drillbox.music.keys import key_before, transposed_key

    other = key_it_moves_as(phrase.chart, phrase.key)
    if other is None:
        return None
    own, other = key_before(phrase.key, interval), transposed_key(other, -interval)[0]
    given, meant = (key.text(ascii=ascii) for key in (own, other))
    return f"its key is {given}, but its chords are in {meant}", other.text()


def _line(name: str, tune: Tune, kind: str, problem: Problem) -> str:
    place = ":".join(str(n) for n in (problem.line, problem.column) if n is not None)
    return f"{name}:{place}{':' if place else ''} {_title(tune)}: {kind}{problem.text}"


def _title(tune: Tune) -> str:
    from drillbox.screen.look import clean

    return clean(tune.title or f"tune {tune.index}", 40)
