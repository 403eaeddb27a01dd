"""Whether a chart moves in the key that was given for it."""

from __future__ import annotations

from dataclasses import replace

from drillbox.music.analysis.functions import functions
from drillbox.music.analysis.slash import heard_chart
from drillbox.music.charts import Chart
from drillbox.music.keys import Key, conventional

_TONICS = {"major": {"I", "I7"}, "minor": {"i"}}


def moves_as(chart: Chart, key: Key) -> Key | None:
    """Return the minor key, or the major one, on the same tonic where the chart moves as that.

    It does where its tonic chords are all of the other mode, as in Dm7b5 G7 Cm6 given as C; a
    Cm7 that is the ii of B flat isn't a tonic chord. None where the key is right or can't be told,
    as in a church mode.
    """
    if key.church:
        return None
    found = {each.roman for each in functions(heard_chart(chart), key) if each}
    other = replace(key, mode="minor" if key.mode == "major" else "major")
    if found & _TONICS[other.third] and not found & _TONICS[key.third]:
        return conventional(other)
    return None
