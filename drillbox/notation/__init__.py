"""Read and write open notation formats; the only room that speaks to music21."""

from drillbox.notation.abc_writing import write_abc
from drillbox.notation.reading import read_bytes
from drillbox.notation.result import MAX_BYTES, WHOLE, Limits, Problem, Reading, Tune
from drillbox.notation.sheet import KEY_CHANGES

__all__ = [
    "KEY_CHANGES",
    "MAX_BYTES",
    "WHOLE",
    "Limits",
    "Problem",
    "Reading",
    "Tune",
    "read_bytes",
    "write_abc",
]
