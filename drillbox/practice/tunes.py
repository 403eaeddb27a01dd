"""Tunes: brought in, from a typed chart or a file; and played through with phrases at their places.

Each phrase that has its places in a tune is rated at the end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from drillbox.errors import BadInput, NotFound
from drillbox.music.charts import Chart
from drillbox.music.fits import Time, spots
from drillbox.music.keys import parse_key
from drillbox.music.phrases import Phrase, are_new, check_tempo, check_title, has_tag, retagged
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.tunes import MOST_BARS, Section, Tune, form_text, parse_form
from drillbox.practice.adding import check_chords, read_file, sounding
from drillbox.practice.editing import retyped
from drillbox.practice.fits import Repertoire, fits_in
from drillbox.practice.gigs import ToPlay, rows_to_play
from drillbox.practice.preferences import Preferences, card_as_read, tune_as_read
from drillbox.practice.rating import Played
from drillbox.practice.rounds import Legs
from drillbox.store.access import Store
from drillbox.store.card_rows import card
from drillbox.store.tune_rows import NewTune, tune_titles
from drillbox.store.values import TuneRecord

if TYPE_CHECKING:
    from drillbox.notation import Reading

MOST_NOTES = 10_000  # of a melody that is written over the chords, with its repeats


class IncomingTune(NamedTuple):
    """A tune as it came; ``concert`` where its page says how it sounds."""

    tune: Tune
    concert: bool = False


def typed_tune(
    *, title: str, key: str, tempo: str, chart: str, meter: str, form: str
) -> IncomingTune:
    """Return a tune from what the player typed; raise BadInput at the first thing wrong."""
    read = parse_chart(chart, parse_meter(meter), most=MOST_BARS)
    check_chords(read)
    tune = Tune(check_title(title), parse_key(key), check_tempo(tempo), read)
    return IncomingTune(replace(tune, form=parse_form(form, len(read.bars))))


def read_tunes(
    path: Path,
    *,
    part: str | None,
    title: str | None,
    key: str | None,
    tempo: str | None,
    meter: str | None,
) -> Reading:
    """Read a notation file of whole tunes; title, key and meter stand in where it has none.

    ``tempo`` is that of all its tunes, whatever they say.

    Raises NotFound where there is no such file and BadInput where it can't be used.
    """
    from drillbox.notation import Limits  # music21: only when a file comes in

    return read_file(
        path,
        part=part,
        title=check_title(title) if title is not None else None,
        key=parse_key(key) if key is not None else None,
        tempo=None,
        goal=check_tempo(tempo) if tempo is not None else None,
        meter=parse_meter(meter) if meter is not None else None,
        limits=Limits(bars=MOST_BARS, notes=MOST_NOTES),
    )


def tune_of(phrase: Phrase, title: str | None, form: str) -> Tune:
    """Return the chords of what was read from a file, under another title where one is given."""
    named = check_title(title or phrase.title)
    parsed = parse_form(form, len(phrase.chart.bars))
    return Tune(named, phrase.key, phrase.tempo, phrase.chart, parsed)


def tune_at_concert(incoming: IncomingTune, preferences: Preferences) -> Tune:
    """Return a tune as it sounds; what is typed reads as the player's instrument does."""
    if incoming.concert:
        return incoming.tune
    tune = incoming.tune
    page = sounding(Phrase(tune.title, tune.key, tune.tempo, tune.chart), preferences)
    return replace(tune, key=page.key, chart=page.chart)


class Retuned(NamedTuple):
    """What of a tune is to be another, as typed; None or empty where it is to stay.

    Key and chart are at concert pitch where ``concert`` says so.
    """

    title: str | None = None
    key: str | None = None
    tempo: str | None = None
    meter: str | None = None
    chart: str | None = None
    form: str | None = None
    tags: Sequence[str] = ()
    untag: Sequence[str] = ()
    concert: bool = False


def changed(record: TuneRecord, wanted: Retuned, preferences: Preferences) -> NewTune:
    """Return a tune with its tags as it is wanted; raise BadInput for one that can't be."""
    tune = record.tune
    if (wanted.key, wanted.meter, wanted.chart) != (None, None, None):
        tune = _retyped(tune, wanted, preferences)
    tune = replace(
        tune,
        title=tune.title if wanted.title is None else check_title(wanted.title),
        tempo=tune.tempo if wanted.tempo is None else check_tempo(wanted.tempo),
        form=_form_after(tune, wanted.form),
    )
    return NewTune(tune, retagged(record.tags, wanted.tags, wanted.untag))


def _form_after(tune: Tune, wanted: str | None) -> tuple[Section, ...]:
    bars = len(tune.chart.bars)
    if wanted is not None:
        return parse_form(wanted, bars)
    try:
        return parse_form(form_text(tune.form), bars)
    except BadInput as wrong:
        remedy = "Give its form with the chart: --form 'A8 B8'; or --form '' for none"
        raise BadInput(wrong.what, remedy) from None


def _retyped(tune: Tune, wanted: Retuned, preferences: Preferences) -> Tune:
    """Return a tune with the key, meter or chart that was typed."""
    read = tune if wanted.concert else tune_as_read(tune, preferences)
    was = Phrase(read.title, read.key, read.tempo, read.chart)
    page = retyped(was, key=wanted.key, meter=wanted.meter, chart=wanted.chart, most=MOST_BARS)
    sounds = tune_at_concert(
        IncomingTune(replace(tune, key=page.key, chart=page.chart), wanted.concert), preferences
    )
    return replace(
        tune,
        key=tune.key if page.key == read.key else sounds.key,
        chart=tune.chart if page.chart == read.chart else sounds.chart,
    )


def parted_by_title(store: Store, tunes: Sequence[Tune]) -> tuple[list[Tune], list[Tune]]:
    """Return the tunes whose titles are new, and those whose are taken, in the store or by one
    of those before them."""
    new = are_new([each.title for each in tunes], tune_titles(store))
    told = list(zip(tunes, new, strict=True))
    return [each for each, is_new in told if is_new], [each for each, is_new in told if not is_new]


def check_new(store: Store, tunes: Sequence[Tune]) -> None:
    """Raise BadInput if a title is taken, in the store or among these tunes."""
    _, taken = parted_by_title(store, tunes)
    if taken:
        remedy = "Choose another title with --title, or see the other with: drillbox tune show"
        if len(tunes) > 1:
            remedy = "Change one of the titles in the file, or take the rest with --keep-good"
        raise BadInput(f"There is a tune {taken[0].title!r} already", remedy)


def tunes_tagged(records: Sequence[TuneRecord], tag: str) -> list[TuneRecord]:
    """Return the tunes that have a tag, whatever its case; raise NotFound where none has."""
    found = [each for each in records if has_tag(each.tags, tag)]
    if not found:
        known = sorted({each for record in records for each in record.tags})
        remedy = f"Your tags are {', '.join(known)}." if known else "Add tags with: tune add --tag"
        raise NotFound(f"No tune has the tag {tag[:40]!r}", remedy)
    return found


ZERO: Time = 0


class Spot(NamedTuple):
    """A place at which a phrase is to be played: which of the cards, from when to when.

    Both are in quarter notes from the first bar that is played.
    """

    leg: int
    start: Time
    end: Time


def wanted_in(tune: Tune, own: Repertoire, preferences: Preferences, *, new: bool) -> list[ToPlay]:
    """Return what is to be played in a tune, by place; ``new``: also keys never played before.

    Each key of a phrase comes in one way, the one that asks least. Raises BadInput where there
    is nothing, and says why.
    """
    page = fits_in(tune, own, preferences)
    if not page.rows:
        raise BadInput(
            f"None of your phrases fits into {tune.title!r}",
            "See what nearly fits with: drillbox fits TUNE --parts",
        )
    to_play = rows_to_play(page)
    if not to_play:
        raise BadInput(
            f"Nothing that fits into {tune.title!r} is near its goal at {tune.tempo}",
            "Choose a slower --tempo.",
        )
    found: dict[int, ToPlay] = {}
    for each in to_play:
        if new or each.row.ready.days:
            found.setdefault(each.row.ready.card_id, each)
    if not found:
        raise BadInput(
            f"None of the keys that you have played fits into {tune.title!r}",
            "See what fits with: drillbox fits; --all takes keys that you never played too",
        )
    return sorted(found.values(), key=lambda each: min(fit.start for fit in each.fits))


def cues_in(
    tune: Tune, played: Sequence[int], own: Repertoire, preferences: Preferences
) -> list[tuple[Fraction, str]]:
    """Return which phrase is to be played from when on, in words, as a tune's bars are played.

    When is in quarter notes from the first of the bars ``played``, which are numbers of its own.
    """
    return [
        (Fraction(start), f"{row.title} in {row.key.text()}")
        for row, fits in rows_to_play(fits_in(tune, own, preferences))
        for fit in fits
        for start, _ in spots(fit, played, tune.chorus, tune.chart.meter.bar)
    ]


class Choruses(Legs):
    """A tune over a store: its bars as they are played, and a card at each of its spots.

    ``order`` holds for each bar that is played its number in the ``tune``, which is as the
    player reads it and has the tempo that is played; ``wanted`` is what has a spot in these bars.
    Raises BadInput where nothing has.
    """

    def __init__(
        self,
        store: Store,
        preferences: Preferences,
        tune: Tune,
        wanted: Sequence[ToPlay],
        *,
        choruses: int,
        now: datetime,
        timed: bool = True,
    ) -> None:
        self.tune = tune_as_read(tune, preferences)
        self._sounding = tune.chart
        self.order = tune.bars_played(choruses)
        self.tempo, self.heard = tune.tempo, ZERO
        of_each = [(each, found) for each in wanted if (found := self._spots(each))]
        if not of_each:
            raise BadInput(
                f"Where something fits into {tune.title!r}, the tune ends",
                "Play more choruses: --loops 2 or more.",
            )
        of_each.sort(key=lambda one: min(one[1]))
        self.wanted = tuple(each for each, _ in of_each)
        spots = [Spot(leg, *at) for leg, (_, found) in enumerate(of_each) for at in found]
        self.spots = tuple(sorted(spots, key=lambda spot: spot.start))
        reads = [
            card_as_read(store, card(store, each.row.ready.card_id), preferences)
            for each in self.wanted
        ]
        super().__init__(store, preferences, reads, self.seconds, now, timed=timed)

    def chart_from(self, bar: int) -> Chart:
        """Return what sounds from a bar of those that are played on, at concert pitch."""
        bars = tuple(self._sounding.bars[number] for number in self.order[bar:])
        return replace(self._sounding, bars=bars)

    @property
    def seconds(self) -> float:
        """Return how long all of it lasts."""
        return float(self.length * Fraction(60, self.tempo))

    def _spots(self, wanted: ToPlay) -> list[tuple[Time, Time]]:
        """Return where a phrase begins and ends."""
        chorus, bar = self.tune.chorus, self.tune.chart.meter.bar
        return [spot for fit in wanted.fits for spot in spots(fit, self.order, chorus, bar)]

    def played(self, index: int, attempt: str) -> Played:
        """Return how a card was played: at the tempo that it took here, as often as it came."""
        places = [spot for spot in self.spots if spot.leg == index and spot.end <= self.heard]
        quarters = sum((spot.end - spot.start for spot in places), Fraction(0))
        seconds = float(quarters * Fraction(60, self.tempo))
        tempo = round(self.tempo * self.wanted[index].row.fit.pace)
        return Played(self.reads[index], tempo, seconds, len(places), attempt, in_round=True)

    @property
    def length(self) -> Fraction:
        """Return how long all of it is, in quarter notes."""
        return len(self.order) * self.tune.chart.meter.bar

    def hear(self, quarters: Time) -> None:
        """Take the tune as played so far; the cards that had a spot by then can be rated."""
        self.heard = max(self.heard, quarters)
        met = {spot.leg for spot in self.spots if spot.end <= self.heard}
        self.play_to(next((leg for leg in range(len(self.reads)) if leg not in met), len(met)))

    def now_and_next(self, quarters: Time) -> tuple[Spot | None, Spot | None]:
        """Return the spot that sounds then, and the one that comes after it."""
        now = next((s for s in self.spots if s.start <= quarters < s.end), None)
        coming = next((s for s in self.spots if s.start > quarters), None)
        return now, coming
