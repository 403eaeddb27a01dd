"""Hypothesis strategies for chords: every root, kind and degree that MusicXML can hold."""

from __future__ import annotations

from hypothesis import strategies as st

from drillbox.music.chords import KINDS, Chord, Degree
from drillbox.music.pitch import LETTERS, Name

names = st.builds(Name, st.sampled_from(LETTERS), st.integers(-2, 2))
# Degrees up to a fifteenth (an octave 8 or a tenth folds to 1 or 3), each altered by up to a
# double accidental.
degrees = st.builds(
    Degree,
    st.sampled_from(["add", "alter", "subtract"]),
    st.integers(1, 15),
    st.integers(-2, 2),
)
chords = st.builds(
    Chord,
    names,
    st.sampled_from(sorted(KINDS)),
    st.lists(degrees, max_size=5).map(tuple),
    st.none() | names,
)
