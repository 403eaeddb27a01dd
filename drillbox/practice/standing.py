"""How each card, key and phrase stands: chances beside ability as estimated, what it waits for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal, NamedTuple

from drillbox.memory.candidates import Candidate
from drillbox.memory.chances import SURE_ENOUGH, Chances
from drillbox.memory.rules import Rules
from drillbox.memory.weakness import (
    FINE,
    LEVEL,
    UNPLAYED,
    Estimate,
    Played,
    Weakness,
    estimate,
    wilson_interval,
)
from drillbox.music.keys import Key, parse_key
from drillbox.practice.preferences import Preferences
from drillbox.store.access import Store
from drillbox.store.first_tries import Evidence, OpenCard, open_cards

Level = Literal["owned", "sure", "unsure", "climbing"]
LEVELS: tuple[Level, ...] = ("owned", "sure", "unsure", "climbing")
Waits = Literal["", "tempo", "memory", "both"]
WAITS: tuple[Waits, ...] = ("tempo", "memory", "both")


class Cell(NamedTuple):
    """One card begun, as it stands today.

    ``key_id`` is ``Key.number``. ``now`` is the chance that a cold go today at
    goal tempo comes out clean. ``level``: owned; else climbing below the goal tempo; at it sure
    from ``SURE_ENOUGH`` on, and unsure with less. ``waits``: what it lacks to be owned.
    """

    card_id: int
    phrase_id: int
    title: str
    key: Key
    key_id: int
    position: int
    goal: int
    tempo: int
    now: float
    owned: bool
    level: Level
    waits: Waits
    due: date
    last_day: date
    attempts: int


def cells(
    cards: Iterable[OpenCard],
    titles: Mapping[int, str],
    now: Mapping[int, float],
    rules: Rules,
    shown: Callable[[Key], Key],
) -> list[Cell]:
    """Return the cards begun as they stand on a practice day.

    ``now`` has each card's chance of a clean cold go at its goal tempo on that day. ``shown``
    turns a key at concert pitch into the one that the player reads.
    """
    keys: dict[str, tuple[Key, int]] = {}
    found = []
    for card in cards:
        if card.key not in keys:
            key = shown(parse_key(card.key))
            keys[card.key] = key, key.number
        chance = now[card.id]
        found.append(
            Cell(
                card.id, card.phrase_id, titles[card.phrase_id], *keys[card.key], card.position,
                card.goal, card.tempo, chance, card.owned, _level(card, chance),
                _waits(card, rules), card.due, card.last_day, card.attempts,
            )
        )  # fmt: skip
    return found


def cells_of(
    store: Store,
    pool: Iterable[Candidate],
    titles: Mapping[int, str],
    chances: Chances,
    preferences: Preferences,
) -> list[Cell]:
    """Return those of some cards that were begun, as they stand by the day's chances."""
    now = {each.card_id: chances.at_goal(each) for each in pool if each.begun}
    begun = (each for each in open_cards(store) if each.id in now)
    return cells(begun, titles, now, preferences.rules, preferences.shown_key)


def _level(card: OpenCard, now: float) -> Level:
    if card.owned:
        return "owned"
    if card.tempo < card.goal:
        return "climbing"
    return "sure" if now >= SURE_ENOUGH else "unsure"


def _waits(card: OpenCard, rules: Rules) -> Waits:
    """Return what a card lacks: a memory that lasts counts as proved by clean goes at goal."""
    if card.owned:
        return ""
    if card.tempo >= card.goal:
        return "memory"
    return "tempo" if card.stability >= rules.owned_days else "both"


def waits_for(group: Sequence[Cell]) -> Waits:
    """Return what half or more of a group's cards lack that aren't owned; "" where all are."""
    left = [cell.waits for cell in group if not cell.owned]
    if not left:
        return ""
    tempo = sum(each in {"tempo", "both"} for each in left) * 2 >= len(left)
    memory = sum(each in {"memory", "both"} for each in left) * 2 >= len(left)
    return "both" if tempo and memory else "tempo" if tempo else "memory"


class Present(NamedTuple):
    """How things stand now: ``started`` cards of ``cards`` in ``phrases`` phrases.

    ``now`` is the mean chance of a clean cold go at goal tempo today over the cards started;
    ``at_goal`` have climbed to their goal, ``unsure`` of them are neither owned nor sure;
    ``tempo`` is the mean tempo reached as a share of the goal; ``due`` are due today or before.
    """

    phrases: int
    cards: int
    started: int
    owned: int
    now: float
    at_goal: int
    unsure: int
    tempo: float
    due: int


def present(found: Sequence[Cell], phrases: int, cards: int, today: date) -> Present:
    """Sum the cards begun up."""
    count = max(1, len(found))
    return Present(
        phrases=phrases,
        cards=cards,
        started=len(found),
        owned=sum(cell.owned for cell in found),
        now=sum(cell.now for cell in found) / count,
        at_goal=sum(cell.tempo >= cell.goal for cell in found),
        unsure=sum(cell.level == "unsure" for cell in found),
        tempo=sum(cell.tempo / cell.goal for cell in found) / count,
        due=sum(cell.due <= today for cell in found),
    )


ALONE = "nothing to compare with yet"


@dataclass(frozen=True, slots=True)
class Standing:
    """How a key, a phrase or one card of it stands.

    ``recalled`` of ``tries`` first tries of a day were clean or fluent; ``share`` is the share
    recalled under the player's usual conditions, ``low`` to ``high`` its 80 % interval (for one
    card the plain share and its Wilson interval); without tries ``share`` is None. ``now`` is
    the mean chance, over the ``cards`` begun, that a cold go at goal tempo today comes out clean;
    ``owned`` of them are owned, ``waits`` is what the others lack, ``tempo`` their mean tempo as
    a share of the goal, ``due`` the first day on which one is due.
    """

    id: int
    name: str
    verdict: str
    tries: int
    recalled: int
    share: float | None
    low: float
    high: float
    cards: int
    owned: int
    now: float
    tempo: float
    waits: Waits
    due: date


def weakness_of(
    rows: Iterable[Evidence], cards: Mapping[int, Cell], half_life: float, days_ago: int = 0
) -> Weakness | None:
    """Return the estimate, as it would have been so many days ago; None where nothing counts."""
    played = []
    for row in rows:
        cell = cards.get(row.card_id)
        if cell is not None and row.age >= days_ago:
            share, age = row.tempo / cell.goal, row.age - days_ago
            played.append(
                Played(cell.phrase_id, cell.key_id, share, row.days, float(row.hint), age,
                       row.recalled, row.total)
            )  # fmt: skip
    return estimate(played, half_life)


def standings(
    found: Sequence[Cell],
    group: Callable[[Cell], int],
    name: Callable[[Cell], str],
    estimates: Sequence[Estimate],
) -> tuple[Standing, ...]:
    """Return how each group of cards stands, weakest first, those never estimated last.

    ``estimates`` are all that were made together.
    """
    groups = _grouped(found, group)
    alone = len(estimates) == 1
    estimated = [
        _standing_by_estimate(each.id, name(groups[each.id][0]), groups[each.id], each, alone=alone)
        for each in estimates
    ]
    known = {each.id for each in estimates}
    rest = [
        _standing_by_estimate(id_, name(cards[0]), cards, None, alone=False)
        for id_, cards in groups.items()
        if id_ not in known
    ]
    return (*estimated, *rest)


class _Ability(NamedTuple):
    verdict: str
    tries: int
    recalled: int
    share: float | None
    low: float
    high: float


def _standing_by_estimate(
    id_: int, name: str, found: Sequence[Cell], each: Estimate | None, *, alone: bool
) -> Standing:
    if each is None:
        return _standing_of(id_, name, found, _plain_share(UNPLAYED, 0, 0))
    if alone:  # an effect against the mean of itself alone says nothing
        verdict = ALONE if each.verdict == FINE else each.verdict
        return _standing_of(id_, name, found, _plain_share(verdict, each.attempts, each.recalled))
    ability = _Ability(each.verdict, each.attempts, each.recalled, each.share, each.low, each.high)
    return _standing_of(id_, name, found, ability)


def card_standings(
    found: Sequence[Cell], rows: Iterable[Evidence], name: Callable[[Cell], str]
) -> tuple[Standing, ...]:
    """Return how single cards stand by their plain counts, in the order given."""
    sums: dict[int, tuple[int, int]] = {}
    for row in rows:
        total, recalled = sums.get(row.card_id, (0, 0))
        sums[row.card_id] = total + row.total, recalled + row.recalled
    return tuple(
        _standing_of(
            cell.card_id, name(cell), [cell], _plain_share("", *sums.get(cell.card_id, (0, 0)))
        )
        for cell in found
    )


def _plain_share(verdict: str, tries: int, recalled: int) -> _Ability:
    low, high = wilson_interval(recalled, tries, LEVEL)
    return _Ability(verdict, tries, recalled, recalled / tries if tries else None, low, high)


def _standing_of(id_: int, name: str, found: Sequence[Cell], ability: _Ability) -> Standing:
    count = len(found)
    return Standing(
        id_,
        name,
        *ability,
        cards=count,
        owned=sum(cell.owned for cell in found),
        now=sum(cell.now for cell in found) / count,
        tempo=sum(cell.tempo / cell.goal for cell in found) / count,
        waits=waits_for(found),
        due=min(cell.due for cell in found),
    )


FEWEST = 2  # keys begun of a group for it to be named for itself


class Waiting(NamedTuple):
    """What so many ``keys`` (cards begun) of a phrase, or of a key, wait for until they are owned.

    ``tempo`` is the mean tempo of these as a share of the goal.
    """

    kind: Literal["phrase", "key"]
    name: str
    what: Waits
    keys: int
    tempo: float


def bottlenecks(cells: Sequence[Cell]) -> tuple[Waiting, ...]:
    """Return what stands in the way of owning: of each phrase, those with most keys begun and not
    owned first, and of the key least clean at goal where ``FEWEST`` phrases wait; () where all
    that was begun is owned.

    A phrase or a key of which some cards lack one thing and some another comes once for each.
    """
    left = [cell for cell in cells if not cell.owned]
    phrases = _grouped(left, lambda cell: cell.phrase_id).values()
    most = sorted(phrases, key=lambda group: (-len(group), group[0].phrase_id))
    said = [each for group in most for each in _waiting("phrase", group[0].title, group)]
    by_key = _grouped(cells, lambda cell: cell.key_id).values()
    keys = [group for group in by_key if sum(not cell.owned for cell in group) >= FEWEST]
    if len(keys) > 1:
        least = min(keys, key=lambda group: sum(cell.now for cell in group) / len(group))
        said += _waiting("key", least[0].key.text(), least)
    return tuple(said)


class Slipping(NamedTuple):
    """A key that never stays, and the days whose first go was clean or missed."""

    title: str
    key: str
    clean: int
    missed: int


def slipping(cells: Sequence[Cell], pool: Iterable[Candidate]) -> tuple[Slipping, ...]:
    """Return the keys that other keys come before as they never stay, the most missed first."""
    of_card = {cell.card_id: cell for cell in cells}
    found = [
        Slipping(cell.title, cell.key.text(), card.clean, card.missed)
        for card in pool
        if card.never_stays and (cell := of_card.get(card.card_id))
    ]
    return tuple(sorted(found, key=lambda each: -each.missed))


def _grouped(cells: Sequence[Cell], group: Callable[[Cell], int]) -> dict[int, list[Cell]]:
    found: dict[int, list[Cell]] = {}
    for cell in cells:
        found.setdefault(group(cell), []).append(cell)
    return found


def _waiting(kind: Literal["phrase", "key"], name: str, group: Sequence[Cell]) -> Iterator[Waiting]:
    """Yield what some cards that aren't owned lack, and how many of them."""
    for what in WAITS:
        lacking = [cell for cell in group if cell.waits == what]
        if lacking:
            share = sum(cell.tempo / cell.goal for cell in lacking) / len(lacking)
            yield Waiting(kind, name, what, len(lacking), share)
