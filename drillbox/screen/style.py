"""The few styles of every screen: weight first, then colour-blind safe hues."""

from __future__ import annotations

# Hues from Okabe & Ito, "Color Universal Design" (2008): they stay apart for colour-blind
# eyes on dark and light grounds alike. Nothing is told by hue alone: each goes with a sign.
BLUE = "#0072b2"
ORANGE = "#d55e00"

TITLE = "bold"
QUIET = "dim"
CHORD = "bold"
WEAK = f"bold {ORANGE}"
SOUND = f"bold {BLUE}"
