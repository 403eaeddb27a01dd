"""Bring tunes in: from a typed chart or a file, checked, at concert pitch, then stored."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from drillbox.errors import BadInput, NotFound
from drillbox.music.keys import parse_key
from drillbox.music.phrases import Phrase, are_new, check_tempo, check_title, has_tag
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.tunes import MOST_BARS, Tune, parse_form
from drillbox.practice.adding import read_file, sounding
from drillbox.practice.preferences import Preferences, as_read
from drillbox.store.tune_rows import list_tunes
from drillbox.store.values import TuneRecord

if TYPE_CHECKING:
    from drillbox.notation import Reading
    from drillbox.store.access import Store

MOST_NOTES = 10_000  # of a melody that is written over the chords, with its repeats


class Incoming(NamedTuple):
    """A tune as it came; ``concert`` where its page says how it sounds."""

    tune: Tune
    concert: bool = False


def typed_tune(*, title: str, key: str, tempo: str, chart: str, meter: str, form: str) -> Incoming:
    """Return a tune from what the player typed; raise BadInput at the first thing wrong."""
    read = parse_chart(chart, parse_meter(meter), most=MOST_BARS)
    if not read.sounding():
        raise BadInput("The chart has no chords", "Write them as in  Dm7 G7 | Cmaj7")
    tune = Tune(check_title(title), parse_key(key), check_tempo(tempo), read)
    return Incoming(replace(tune, form=parse_form(form, len(read.bars))))


def read_tunes(
    path: Path,
    *,
    part: str | None,
    title: str | None,
    key: str | None,
    tempo: str | None,
    meter: str | None,
) -> Reading:
    """Read a notation file of whole tunes; what is given stands in where it has none.

    Raises NotFound where there is no such file and BadInput where it can't be used.
    """
    from drillbox.notation import Limits  # music21: only when a file comes in

    return read_file(
        path,
        part=part,
        title=check_title(title) if title is not None else None,
        key=parse_key(key) if key is not None else None,
        tempo=check_tempo(tempo) if tempo is not None else None,
        meter=parse_meter(meter) if meter is not None else None,
        limits=Limits(bars=MOST_BARS, notes=MOST_NOTES),
    )


def tune_of(phrase: Phrase, title: str | None, form: str) -> Tune:
    """Return the chords of what was read from a file, under another title where one is given."""
    named = check_title(title or phrase.title)
    parsed = parse_form(form, len(phrase.chart.bars))
    return Tune(named, phrase.key, phrase.tempo, phrase.chart, parsed)


def tune_at_concert(incoming: Incoming, preferences: Preferences) -> Tune:
    """Return a tune as it sounds; what is typed reads as the player's instrument does."""
    if incoming.concert:
        return incoming.tune
    return _with_page(incoming.tune, sounding(_as_phrase(incoming.tune), preferences))


def tune_as_read(tune: Tune, preferences: Preferences) -> Tune:
    """Return a tune in the written pitch of the player's instrument."""
    return _with_page(tune, as_read(_as_phrase(tune), tune.key, preferences))


def _as_phrase(tune: Tune) -> Phrase:
    return Phrase(tune.title, tune.key, tune.tempo, tune.chart)


def _with_page(tune: Tune, page: Phrase) -> Tune:
    return replace(tune, key=page.key, chart=page.chart)


def new_tunes(store: Store, tunes: Sequence[Tune]) -> list[Tune]:
    """Return the tunes whose titles are new, in the store and among those before them."""
    new = are_new([each.title for each in tunes], [each.title for each in list_tunes(store)])
    return [each for each, is_new in zip(tunes, new, strict=True) if is_new]


def check_new(store: Store, tunes: Sequence[Tune]) -> None:
    """Raise BadInput if a title is taken, in the store or among these tunes."""
    new = new_tunes(store, tunes)
    if taken := next((each for each in tunes if each not in new), None):
        remedy = "Choose another title with --title, or see the other with: drillbox tune show"
        if len(tunes) > 1:
            remedy = "Change one of the titles in the file, or take the rest with --keep-good"
        raise BadInput(f"There is a tune {taken.title!r} already", remedy)


def tunes_tagged(records: Sequence[TuneRecord], tag: str) -> list[TuneRecord]:
    """Return the tunes that have a tag, whatever its case; raise NotFound where none has."""
    found = [each for each in records if has_tag(each.tags, tag)]
    if not found:
        known = sorted({each for record in records for each in record.tags})
        remedy = f"Your tags are {', '.join(known)}." if known else "Add tags with: tune add --tag"
        raise NotFound(f"No tune has the tag {tag[:40]!r}", remedy)
    return found
