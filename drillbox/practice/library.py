"""The player's phrases: listed, found by words or tag, put in an order, and each in full."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from statistics import fmean
from typing import TYPE_CHECKING, Literal

from drillbox.errors import BadInput, NotFound
from drillbox.music.charts import Chart
from drillbox.music.keys import Key, parse_key
from drillbox.music.phrases import Phrase, folded_title, has_tag
from drillbox.music.symbols.printed import chart_text
from drillbox.practice.hinting import analysis_of
from drillbox.practice.preferences import Preferences, as_read, card_in
from drillbox.practice.ranges import breaks_in, misfits
from drillbox.practice.readiness import started_at_goal
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.phrase_rows import list_phrases
from drillbox.store.values import CardRecord, PhraseOverview, PhraseRecord

if TYPE_CHECKING:
    from drillbox.music.analysis.whole import Analysis
    from drillbox.music.moving.instruments import Breaks
    from drillbox.music.moving.transposition import Fit


@dataclass(frozen=True, slots=True)
class CardView:
    """One key of a phrase as it stands; ``clean`` is the chance that today's first go at goal
    tempo comes out clean, None before the first attempt and where it isn't practised."""

    key: Key
    chart: Chart
    tempo: int
    clean: float | None
    attempts: int
    due: date | None
    owned: bool
    aside: bool = False

    def key_text(self, *, ascii: bool) -> str:
        """Return the key's name."""
        return self.key.text(ascii=ascii)

    def chart_line(self, *, ascii: bool) -> str:
        """Return the chart in this key on one line."""
        return chart_text(self.chart, ascii=ascii)


@dataclass(frozen=True, slots=True)
class PhraseView:
    """One phrase as the player reads it, with its cards in the order in which its keys open.

    ``content`` is what is in it, in its written key or in the one that was asked for; then
    ``cards`` holds that key alone.
    """

    content: AnalysisView
    retired: bool
    cards: tuple[CardView, ...]
    today: date

    @property
    def phrase(self) -> Phrase:
        """Return the phrase as it reads in the key shown."""
        return self.content.phrase


def view_phrase(
    store: Store,
    preferences: Preferences,
    record: PhraseRecord,
    now: datetime,
    key: str | None = None,
) -> PhraseView:
    """Return a phrase with each of its keys as it stands now, or with the one that is named.

    Raises BadInput where ``key`` is none of the phrase's keys.
    """
    day = preferences.today(now)
    every = cards = cards_of(store, record.id)
    chosen = record.phrase.key
    if key is not None:
        cards = [card_in(record.phrase, cards, key, preferences)]
        chosen = cards[0].key
    started = started_at_goal(store, preferences.rules, day, record.id)
    clean = {card.card_id: chance for card, chance in started}
    return PhraseView(
        view_analysis(record, every, chosen, preferences),
        record.retired,
        tuple(_card_view(each, record.phrase, preferences, clean.get(each.id)) for each in cards),
        day,
    )


def as_listed(
    store: Store, preferences: Preferences, *, retired: bool = False
) -> list[PhraseOverview]:
    """Return the phrases for a list, each with its written key as the player reads it."""
    found = list_phrases(store, retired=retired)
    keys = [parse_key(each.key) for each in found]
    return [
        replace(each, key=preferences.shown_key(key, key).text())
        for each, key in zip(found, keys, strict=True)
    ]


Lacking = Literal["phrases", "in practice"]
"""What there is none of where nothing can be drilled: phrases at all, or one that isn't retired."""


def lacking(store: Store) -> Lacking:
    """Return what there is none of, where nothing can be drilled."""
    return "in practice" if list_phrases(store, retired=True) else "phrases"


def _card_view(
    card: CardRecord, phrase: Phrase, preferences: Preferences, clean: float | None
) -> CardView:
    state = card.state
    read = as_read(phrase, card.key, preferences)
    return CardView(
        key=read.key,
        chart=read.chart,
        tempo=state.tempo.tempo,
        clean=clean,
        attempts=state.attempts,
        due=state.due,
        owned=state.owned,
        aside=card.aside,
    )


@dataclass(frozen=True, slots=True)
class AnalysisView:
    """A phrase as it reads in one key, with all that is known of it.

    ``misfits`` are the keys, as read, in which the line leaves the range of the
    ``instrument``, and how far; ``breaks`` those in which it breaks the octave.
    """

    phrase: Phrase
    analysis: Analysis
    misfits: tuple[tuple[Key, Fit], ...]
    instrument: str
    breaks: Breaks = ()


def view_analysis(
    record: PhraseRecord, cards: Sequence[CardRecord], key: Key, preferences: Preferences
) -> AnalysisView:
    """Return what is in a phrase in a concert key of its twelve ``cards``."""
    phrase = record.phrase
    laid = [(card.key, card.line) for card in cards]
    return AnalysisView(
        as_read(phrase, key, preferences),
        analysis_of(record),
        misfits(phrase, laid, preferences),
        preferences.instrument.name,
        breaks_in(phrase, laid, preferences),
    )


SORTS = ("title", "weakest", "tempo", "due")


def matching(
    listed: Sequence[PhraseOverview], words: Sequence[str], tag: str | None
) -> list[PhraseOverview]:
    """Return the phrases in whose title or tags every word occurs, of a tag where one is given."""
    found = list(listed) if tag is None else tagged(listed, tag)
    wanted = [folded_title(each) for each in words]
    return [
        each
        for each in found
        if all(word in folded_title(" ".join((each.title, *each.tags))) for word in wanted)
    ]


def tagged(listed: Sequence[PhraseOverview], tag: str) -> list[PhraseOverview]:
    """Return the phrases that have a tag; raise NotFound, naming the tags, where none has."""
    found = [each for each in listed if has_tag(each.tags, tag)]
    if not found:
        known = sorted({each for phrase in listed for each in phrase.tags})
        adding = "Add one: drillbox edit PHRASE --tag TAG"
        remedy = f"Your tags are {', '.join(known)}." if known else adding
        raise NotFound(f"No phrase has the tag {tag[:40]!r}", remedy)
    return found


def sorted_by(
    store: Store,
    preferences: Preferences,
    listed: Sequence[PhraseOverview],
    sort: str | None,
    day: date,
) -> list[PhraseOverview]:
    """Return phrases in an order; those that weren't begun come last where it is theirs.

    ``title``: by the alphabet; ``weakest``: by the mean chance of a clean first go at goal
    tempo in their started keys; ``tempo``: by the share of the goal that these have reached;
    ``due``: the earliest first; None: as they were added. Raises BadInput for another order.
    """
    if sort is None:
        return list(listed)
    if sort not in SORTS:
        raise BadInput(f"{sort[:20]!r} isn't an order", f"Sort by {', '.join(SORTS)}.")
    return sorted(listed, key=_sort_key(store, preferences, sort, day))


def _sort_key(
    store: Store, preferences: Preferences, sort: str, day: date
) -> Callable[[PhraseOverview], tuple[float, str]]:
    if sort == "title":
        return lambda each: (0.0, folded_title(each.title))
    if sort == "due":
        return lambda each: ((each.next_due or date.max).toordinal(), folded_title(each.title))
    if sort == "tempo":
        return lambda each: (
            float(each.reached) / each.tempo if each.reached else 2.0,
            folded_title(each.title),
        )
    clean = _clean_chances(store, preferences, day)
    return lambda each: (clean.get(each.id, 2.0), folded_title(each.title))


def _clean_chances(store: Store, preferences: Preferences, day: date) -> dict[int, float]:
    """Return the mean chance of each phrase's started keys to come out clean at goal tempo."""
    found: dict[int, list[float]] = {}
    for card, chance in started_at_goal(store, preferences.rules, day):
        found.setdefault(card.phrase_id, []).append(chance)
    return {number: fmean(each) for number, each in found.items()}
