"""The degree that a chord was meant on, where its written key hid it.

In Bb the substitute of F7 stands on the flat second, Cb, which nobody writes: players write B7.
Moved by its letters it would read C#7 in C, where they write Db7. So before a phrase moves,
a chord on such a root gets back the root that its degree asks for, and the notes over it too.
A root that the player chose between two that are written stays as it is.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from drillbox.music.charts import Chart
from drillbox.music.chords import Chord
from drillbox.music.keys import Key
from drillbox.music.phrases import Phrase
from drillbox.music.pitch import LETTERS, Interval, Name
from drillbox.music.roots import chord_up, is_ii, is_written
from drillbox.music.tones import is_diminished, is_half_diminished, is_minor_quality

# Semitones above the tonic → steps, as players name degrees (common practice): the flat side,
# but raised where a diminished chord leads upward. None: either.
_STEPS = (0, 1, 1, 2, 2, 3, 4, 4, 5, 5, 6, 6)
_STEPS_OF_DIMINISHED = (0, 0, 1, 2, 2, 3, 3, 4, 4, 5, 6, 6)
_STEPS_OF_MINOR = (0, None, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)


def meant(phrase: Phrase) -> Phrase:
    """Return the phrase with each chord, and the notes over it, on the degree it was meant on."""
    return _over(phrase, meant_chart(phrase.chart, phrase.key))


def hidden(phrase: Phrase) -> Phrase:
    """Return the phrase as players write it in its key, no more hidden than ``meant`` brings back.

    A Cb7 in Bb becomes B7, with the notes over it; a root that would be lost so stays.
    """
    strict = meant_chart(phrase.chart, phrase.key)
    tried = phrase.chart.with_chords([_written(chord) for chord in phrase.chart.chords()])
    again = meant_chart(tried, phrase.key).chords()
    columns = (phrase.chart.chords(), tried.chords(), again, strict.chords())
    kept = [new if back == aim else old for old, new, back, aim in zip(*columns, strict=True)]
    chart = phrase.chart.with_chords(kept)
    return _over(phrase, chart) if meant_chart(chart, phrase.key) == strict else phrase


def meant_chart(chart: Chart, key: Key) -> Chart:
    """Return the chart of a key with each chord on the degree that it was meant on."""
    pairs = pairwise([None, *chart.chords()])
    return chart.with_chords([_meant_chord(before, chord, key) for before, chord in pairs])


def _written(chord: Chord | None) -> Chord | None:
    if chord is None or is_written(chord.root):
        return chord
    ways = (chord_up(chord, Interval(letter, 0)) for letter in (1, -1))
    return next((way for way in ways if is_written(way.root)), chord)


def _over(phrase: Phrase, chart: Chart) -> Phrase:
    """Return the phrase over a chart that differs by letters, its notes moved along."""
    line = tuple(
        replace(note, pitch=note.pitch.up(_moved(phrase.chart, chart, note.onset)))
        for note in phrase.line
    )
    return replace(phrase, chart=chart, line=line)


def _moved(chart: Chart, other: Chart, onset: Fraction) -> Interval:
    """Return the letters between what the two charts have at one place."""
    here, there = chart.span_at(onset), other.span_at(onset)
    if not (here and there and here.chord and there.chord):
        return Interval(0, 0)
    return Interval(_letters(here.chord.root, there.chord.root), 0)


def _meant_chord(before: Chord | None, chord: Chord | None, key: Key) -> Chord | None:
    if chord is None:
        return None
    letter = _letters(chord.root, _meant_root(chord, key))
    if letter and before and is_ii(before, chord) and before.root == _meant_root(before, key):
        return chord  # a dominant keeps to the spelling of its ii
    return chord_up(chord, Interval(letter, 0))


def _meant_root(chord: Chord, key: Key) -> Name:
    semitones = (chord.root.pitch_class - key.tonic.pitch_class) % 12
    if is_diminished(chord) or is_half_diminished(chord):
        steps: int | None = _STEPS_OF_DIMINISHED[semitones]
    else:
        steps = (_STEPS_OF_MINOR if is_minor_quality(chord) else _STEPS)[semitones]
    if steps is None:
        return chord.root
    root = key.tonic.up(Interval(steps, semitones))
    near = abs(_letters(chord.root, root)) == 1
    return root if near and not is_written(root) else chord.root


def _letters(root: Name, other: Name) -> int:
    """Return how many letters lie between two names, from -3 to 3."""
    return (LETTERS.index(other.letter) - LETTERS.index(root.letter) + 3) % 7 - 3
