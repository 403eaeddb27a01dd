"""An attempt judged: the word proposed, what it rests on, and the numbers that are kept."""

from __future__ import annotations

from dataclasses import dataclass

from drillbox.hearing.expected import Expected
from drillbox.hearing.features import Pass
from drillbox.hearing.passes import other_key, passes
from drillbox.hearing.rating_rules import WORDS, Cause, Word, judged
from drillbox.hearing.takes import Take


@dataclass(frozen=True, slots=True)
class Judgement:
    """What was heard and the ``word`` proposed; ``other`` where it may as well be that one.

    ``heard`` is the pass that the reasons are of, None in silence; ``key`` by how many
    semitones another key was played.
    """

    word: Word
    other: Word | None
    heard: Pass | None
    causes: dict[Cause, Word]
    key: int | None = None


def judge(line: Expected, take: Take, loops: int | None = None) -> Judgement:
    """Return the judgement on an attempt.

    Once through is enough of however many ``loops``; of several, one cut short at the end
    doesn't count. The proposal is the mean of the loops' words, rounded down: a line found
    only at the second go was not there at the first.
    """
    heard = passes(line, take, loops)
    if not heard:
        return Judgement("lost", None, None, {})
    if len(heard) > 1 and heard[-1].unplayed:
        heard = heard[:-1]
    each = [judged(one) for one in heard]
    words = [WORDS.index(word) for word, _ in each]
    worst = words.index(min(words))
    word = WORDS[sum(words) // len(words)]
    key = other_key(line, take) if word == "lost" else None
    return Judgement(word, None, heard[worst], each[worst][1], key)
