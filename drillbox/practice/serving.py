"""Which phrases serve most over all tunes, and which keys these need."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from drillbox.music.keys import Key, twelve
from drillbox.music.tunes import Tune
from drillbox.practice.fits import Repertoire, bare_bars
from drillbox.practice.preferences import Preferences


@dataclass(frozen=True, slots=True)
class Serving:
    """How much a phrase serves: in how many tunes, at how many places, in which keys."""

    title: str
    tunes: int
    places: int
    keys: tuple[Key, ...]


@dataclass(frozen=True, slots=True)
class Needed:
    """How often a key is needed: in how many tunes, at how many places, by how many phrases."""

    key: Key
    tunes: int
    places: int
    phrases: int


@dataclass(frozen=True, slots=True)
class Overview:
    """What fits over all tunes.

    ``serving`` has the phrases that serve most first, ``idle`` those that fit nowhere;
    ``needed`` the keys of the phrases' modes, those needed most first, and those that no tune
    needs last.
    """

    serving: tuple[Serving, ...]
    needed: tuple[Needed, ...]
    idle: tuple[str, ...]


@dataclass(slots=True)
class _Count:
    """Places as they are counted, and in which tunes, keys or phrases they lie."""

    places: int = 0
    tunes: set[int] = field(default_factory=set)
    others: set[int] = field(default_factory=set)

    def add(self, tune: int, other: int, places: int) -> None:
        self.places += places
        self.tunes.add(tune)
        self.others.add(other)


def overview(
    tunes: Iterable[Tune],
    own: Repertoire,
    preferences: Preferences,
    tell: Callable[[str, float], object] = lambda _, __: None,
) -> Overview:
    """Return which phrases serve most over all tunes, and which keys these need.

    ``tell`` hears of each tune, once it was looked through, its title and the share of bars
    that something fits.
    """
    phrases: defaultdict[int, _Count] = defaultdict(_Count)
    keys: defaultdict[tuple[str, int], _Count] = defaultdict(_Count)
    homes = {n: (each.key.mode, each.key.tonic.pitch_class) for n, each in own.phrases.items()}
    for index, tune in enumerate(tunes):
        fits = own.fits(tune)
        begun = {(fit.phrase, fit.up, fit.begins) for fit in fits}
        for (phrase, up), places in Counter((phrase, up) for phrase, up, _ in begun).items():
            mode, written = homes[phrase]
            tonic = (written + up) % 12
            phrases[phrase].add(index, tonic, places)
            keys[mode, tonic].add(index, phrase, places)
        bare = sum(after - first for first, after in bare_bars(tune, fits))
        tell(tune.title, 1 - bare / len(tune.chart.bars))
    return Overview(
        _serving(phrases, own, preferences),
        _needed(keys, own, preferences),
        tuple(each.title for number, each in own.phrases.items() if number not in phrases),
    )


def _serving(
    counts: Mapping[int, _Count], own: Repertoire, preferences: Preferences
) -> tuple[Serving, ...]:
    found = []
    for number, count in counts.items():
        phrase = own.phrases[number]
        round_fourths = sorted(count.others, key=lambda tonic: tonic * 5 % 12)
        keys = (own.cards.key(number, tonic) for tonic in round_fourths)
        shown = tuple(preferences.shown_key(key, phrase.key) for key in keys)
        found.append(Serving(phrase.title, len(count.tunes), count.places, shown))
    return tuple(sorted(found, key=lambda each: (-each.tunes, -each.places, each.title)))


def _needed(
    counts: Mapping[tuple[str, int], _Count], own: Repertoire, preferences: Preferences
) -> tuple[Needed, ...]:
    modes = dict.fromkeys(phrase.key.mode for phrase in own.phrases.values())
    found = []
    for key in (key for mode in modes for key in twelve(mode, preferences.spelling)):
        count = counts.get((key.mode, key.tonic.pitch_class), _Count())
        shown = preferences.shown_key(key)
        found.append(Needed(shown, len(count.tunes), count.places, len(count.others)))
    return tuple(sorted(found, key=lambda each: (-each.tunes, -each.places)))
