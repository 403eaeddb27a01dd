"""Hear an attempt: what was played, how it lies on the line, and the rating it speaks for."""
