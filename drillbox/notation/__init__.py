"""Read and write open notation formats; the only room that speaks to music21."""
