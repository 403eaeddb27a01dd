"""Change a phrase: what an edit comes to, told before it is done; done; and taken back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from drillbox.errors import BadInput
from drillbox.memory.cards import replay
from drillbox.music.charts import MOST_BARS, Chart, Meter
from drillbox.music.chords import Chord
from drillbox.music.keys import Key, parse_key
from drillbox.music.phrases import Phrase, check_line, check_tempo, check_title, retagged
from drillbox.music.symbols.printed import chart_text
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.turnarounds import (
    aim_of,
    leaves_room,
    propose_turnaround,
    with_turnaround,
    without_turnaround,
)
from drillbox.practice.adding import check_chords, sounding
from drillbox.practice.preferences import Preferences, as_read, chosen_key
from drillbox.store import phrase_edits
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.log import logs_of
from drillbox.store.naming import pasted
from drillbox.store.phrase_edits import Content
from drillbox.store.phrase_rows import check_there
from drillbox.store.values import CardRecord, NewCard, NewPhrase, PhraseRecord

TAKE, DECLINE = "take", "decline"


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the player wants changed, as typed; None or empty where it is to stay.

    ``page`` is a phrase read from a file, whose key, chart and line are taken; it sounds as
    it is written where ``concert`` says so. ``turnaround`` is ``take``, ``decline`` or chords;
    ``octave_breaks`` as in ``NewPhrase``.
    """

    title: str | None = None
    goal: str | None = None
    order: str | None = None
    key: str | None = None
    meter: str | None = None
    chart: str | None = None
    turnaround: str | None = None
    double_time: bool | None = None
    octave_breaks: bool | None = None
    tags: Sequence[str] = ()
    untag: Sequence[str] = ()
    aside: Sequence[str] = ()
    back: Sequence[str] = ()
    page: Phrase | None = None
    concert: bool = False
    afresh: bool = False


def rewritten(stored: Phrase, wanted: Wanted, preferences: Preferences) -> Phrase:
    """Return the phrase as it would be, at concert pitch."""
    content = stored
    if wanted.page is not None:
        page = wanted.page if wanted.concert else sounding(wanted.page, preferences)
        chart = _with_turnaround_of(stored.chart, page)
        content = replace(stored, key=page.key, chart=chart, line=page.line)
    if (wanted.key, wanted.chart, wanted.meter) != (None, None, None):
        content = _with_typed(content, wanted, preferences)
    content = replace(
        content,
        title=check_title(wanted.title) if wanted.title is not None else stored.title,
        tempo=check_tempo(wanted.goal) if wanted.goal is not None else stored.tempo,
        double_time=stored.double_time if wanted.double_time is None else wanted.double_time,
    )
    if wanted.turnaround is not None:
        content = replace(content, chart=_chart_turned(content, wanted, preferences))
    try:
        check_line(content.line, content.chart)
    except ValueError as problem:
        raise BadInput(
            f"The line doesn't fit that chart: {problem}",
            "Bring line and chart in together, from a file: --file lines.abc",
        ) from None
    return content


def _with_turnaround_of(own: Chart, page: Phrase) -> Chart:
    """Return a page's chart with the turnaround there is, where the page writes none, begins as
    before and leaves room: it may have been proposed, or come later."""
    if not own.turnaround or aim_of(page.chart) != aim_of(own):
        return page.chart
    turned: Chart | None = own
    if without_turnaround(own) != page.chart:
        wanted = propose_turnaround(page.chart, page.key) is not None
        chords = [span.chord for span in own.turnaround if span.chord]
        turned = with_turnaround(page.chart, chords) if wanted else None
    return turned if turned and leaves_room(page.line, turned, page.key) else page.chart


def _with_typed(content: Phrase, wanted: Wanted, preferences: Preferences) -> Phrase:
    """Return the phrase with a key, meter or chart that was typed as the player reads it."""
    read = content if wanted.concert else as_read(content, content.key, preferences)
    page = retyped(read, key=wanted.key, meter=wanted.meter, chart=wanted.chart)
    same = page.chart == read.chart
    page = page if wanted.concert else sounding(replace(page, line=()), preferences)
    return replace(
        content,
        key=page.key if wanted.key is not None else content.key,
        chart=content.chart if same else page.chart,
    )


def retyped(
    read: Phrase, *, key: str | None, meter: str | None, chart: str | None, most: int = MOST_BARS
) -> Phrase:
    """Return a phrase with another key, meter or chart of ``most`` bars as typed; None leaves it.

    Raises BadInput for what can't be read, and for a line in another meter.
    """
    counted = parse_meter(meter) if meter is not None else read.chart.meter
    bars = read.chart
    if chart is not None:
        bars = parse_chart(chart, counted, most=most)
        check_chords(bars)
    elif counted != bars.meter:
        if read.line:
            raise BadInput(
                "A line can't be counted in another meter by itself",
                "Bring line and chart in together, from a file: --file lines.abc",
            )
        bars = _counted_in(bars, counted, most)
    return replace(read, key=parse_key(key) if key is not None else read.key, chart=bars)


def _counted_in(chart: Chart, meter: Meter, most: int) -> Chart:
    """Return a chart with the chords of each bar sharing it equally in another meter."""
    try:
        return parse_chart(chart_text(chart, ascii=True), meter, most=most)
    except BadInput:
        raise BadInput(
            f"The chords of a bar can't share {meter.text()} by themselves",
            "Write the chart in it: --chart, with / for each beat that a chord is held.",
        ) from None


def _chart_turned(content: Phrase, wanted: Wanted, preferences: Preferences) -> Chart:
    """Return the chart with its turnaround taken, declined or replaced."""
    plain = without_turnaround(content.chart)
    text = (wanted.turnaround or "").strip()
    if text.casefold() == DECLINE:
        return plain
    if text.casefold() == TAKE:
        return propose_turnaround(plain, content.key, preferences.turnaround) or content.chart
    chords = _turnaround_chords(text, content, wanted, preferences)
    found = with_turnaround(content.chart, chords)
    if found is None:
        raise BadInput(
            "The last chord is too short to share its time with a turnaround",
            "Write the whole chart again with --chart.",
        )
    return found


def _turnaround_chords(
    text: str, content: Phrase, wanted: Wanted, preferences: Preferences
) -> tuple[Chord, ...]:
    chart = parse_chart(text, content.chart.meter)
    key = preferences.shown_key(content.key, content.key)
    page = Phrase(content.title, content.key if wanted.concert else key, content.tempo, chart)
    chords = (page if wanted.concert else sounding(page, preferences)).chart.sounding()
    if len(chart.bars) > 1 or not 1 <= len(chords) <= 2:
        raise BadInput(
            f"{text[:40]!r} isn't a turnaround",
            f"Write one or two chords, '{TAKE}' for the proposed one, or '{DECLINE}' for none.",
        )
    return tuple(chords)


@dataclass(frozen=True, slots=True)
class Version:
    """A phrase as the player reads it, its order of keys, its tags, the keys put aside, and
    ``octave_breaks`` as in ``NewPhrase``.

    ``order`` is named, and spelled out where it is the player's own, which may be another now.
    """

    phrase: Phrase
    order: str
    tags: tuple[str, ...]
    aside: tuple[Key, ...]
    octave_breaks: bool


@dataclass(frozen=True, slots=True)
class Plan:
    """An edit to be. ``wished``: the player wants to start over; ``moved``: the keys have to.

    ``attempts`` are those that the phrase has so far, ``owned`` how many keys are owned now and
    how many will be.
    """

    record: PhraseRecord
    new: NewPhrase
    before: Version
    after: Version
    attempts: int
    owned: tuple[int, int]
    wished: bool
    moved: bool

    @property
    def afresh(self) -> bool:
        """Return whether a new phrase takes the place, as the attempts at this one are kept."""
        return self.attempts > 0 and (self.wished or self.moved)

    @property
    def nothing(self) -> bool:
        """Return whether everything stays as it is."""
        return self.before == self.after and self._same_line and not self.afresh

    @property
    def same_music(self) -> bool:
        """Return whether key, chart and line stay."""
        mine, other = self.record.phrase, self.new.phrase
        return self._same_line and (mine.key, mine.chart) == (other.key, other.chart)

    @property
    def _same_line(self) -> bool:
        return self.record.phrase.line == self.new.phrase.line


def plan_edit(store: Store, preferences: Preferences, record: PhraseRecord, wanted: Wanted) -> Plan:
    """Return what an edit would come to; raise BadInput at the first thing that can't be used."""
    cards = cards_of(store, record.id)
    content = rewritten(record.phrase, wanted, preferences)
    order = wanted.order if wanted.order is not None else record.order
    keys = [card.key for card in cards]
    if content.key != record.phrase.key or wanted.order is not None:
        keys = list(preferences.keys_in_order(content.key, order))
    aside = _aside_after(record, wanted, keys, content, preferences)
    tags = retagged(record.tags, wanted.tags, wanted.untag)
    breaking = record.octave_breaks if wanted.octave_breaks is None else wanted.octave_breaks
    planned = Content(content, order, tuple(keys), tags, aside, breaking)
    new = planned.laid_out(preferences.sounding_range)
    moved = content.key.tonic != record.phrase.key.tonic and not _begin_alike(
        record.phrase, content
    )
    return Plan(
        record,
        new,
        _version_of(record, cards, preferences),
        _version_of(new, new.cards, preferences),
        sum(card.state.attempts for card in cards),
        _owned_now_and_then(store, cards, record.phrase.tempo, content.tempo, preferences),
        wanted.afresh,
        moved,
    )


def _owned_now_and_then(
    store: Store, cards: Sequence[CardRecord], goal: int, other: int, preferences: Preferences
) -> tuple[int, int]:
    """Return how many cards are owned, and how many their logs own at the other goal."""
    now = sum(card.state.owned for card in cards)
    if other == goal:
        return now, now
    then = (
        replay(other, log.attempts, preferences.rules).owned
        for log in logs_of(store, [card.id for card in cards])
    )
    return now, sum(then)


def _version_of(
    written: PhraseRecord | NewPhrase,
    cards: Sequence[CardRecord | NewCard],
    preferences: Preferences,
) -> Version:
    """Return a phrase with what belongs to it, as the player reads it."""
    phrase, order = written.phrase, written.order
    keys = [preferences.shown_key(card.key, phrase.key) for card in cards]
    away = tuple(
        key
        for card, key in zip(cards, keys, strict=True)
        if card.key.tonic.pitch_class in written.aside
    )
    if order == "own":
        order += f" ({' '.join(key.tonic.text() for key in keys)})"
    read = as_read(phrase, phrase.key, preferences)
    return Version(read, order, written.tags, away, written.octave_breaks)


def _aside_after(
    record: PhraseRecord,
    wanted: Wanted,
    keys: Sequence[Key],
    content: Phrase,
    preferences: Preferences,
) -> frozenset[int]:
    def numbers(texts: Sequence[str]) -> set[int]:
        found = (chosen_key(each, content, keys, preferences) for each in texts)
        return {each.tonic.pitch_class for each in found}

    aside = frozenset((record.aside | numbers(wanted.aside)) - numbers(wanted.back))
    if len(aside) == len(keys):
        raise BadInput("That would put all twelve keys aside", "Retire it: drillbox retire")
    return aside


def _begin_alike(one: Phrase, other: Phrase) -> bool:
    """Return whether two phrases begin on the same chord of their keys: one line, moved."""
    firsts = [(each.chart.sounding()[:1], each.key) for each in (one, other)]
    steps = {
        (found[0].root.pitch_class - key.tonic.pitch_class) % 12 if found else None
        for found, key in firsts
    }
    return len(steps) == 1


def carry_out(store: Store, plan: Plan, now: datetime) -> PhraseRecord:
    """Do what was planned, after a backup; return the phrase as it is then.

    Raises NotFound where it isn't there any more: the player may have been asked for long.
    """
    check_there(store, plan.record)
    store.keep_before("edit", now)
    change = phrase_edits.begin_afresh if plan.afresh else phrase_edits.change_phrase
    return change(store, plan.record.id, plan.new, now)


def _last_edited(store: Store) -> PhraseRecord:
    """Return the phrase that was edited last, where that can be undone.

    It is never another one: whoever asks twice doesn't mean an older edit.
    """
    record = phrase_edits.last_edited(store)
    if record is None:
        raise BadInput("No edit to undo", "Edits can be undone once.")
    if phrase_edits.former_of(store, record.id) is None:
        raise BadInput(
            "The last edit is undone already",
            "To undo an older one, name its phrase: drillbox edit PHRASE --undo",
        )
    if record.retired:
        raise BadInput(
            f"The last edit was of {record.title!r}, which is retired",
            f"Bring it back first (drillbox retire {pasted(record.title)} --back), or name another"
            " phrase.",
        )
    return record


def undo_edit(
    store: Store, preferences: Preferences, record: PhraseRecord | None, now: datetime
) -> PhraseRecord:
    """Take the last edit of a phrase back, or the last of all; return the phrase as it was.

    Raises BadInput where there is none to take back.
    """
    record = record or _last_edited(store)
    former = phrase_edits.former_of(store, record.id)
    if former is None:
        raise BadInput(f"No edit of {record.title!r} to undo", "Edits can be undone once.")
    store.keep_before("edit", now)
    if isinstance(former, str):
        found = phrase_edits.undo_afresh(store, record.id, former, now)
        if found is None:
            raise BadInput(
                f"What {record.title!r} was before it started over is no longer in the store",
                "See your backups: drillbox store list",
            )
        return found
    new = former.laid_out(preferences.sounding_range)
    return phrase_edits.change_phrase(store, record.id, new, now, undo=True)
