"""Where phrases fit into a tune, and how: pure matching of their chords."""

from drillbox.music.fits.clashes import Clash
from drillbox.music.fits.fit import Fit, spots
from drillbox.music.fits.kinds import Kind, Part
from drillbox.music.fits.matching import Phrases
from drillbox.music.fits.shapes import Time, ticks

__all__ = ["Clash", "Fit", "Kind", "Part", "Phrases", "Time", "spots", "ticks"]
