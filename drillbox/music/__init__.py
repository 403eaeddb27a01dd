"""Pure facts of music: pitch, keys, chords, charts, phrases, transposition, analysis."""
