"""Chord symbols and typed charts: the many spellings read, the one form printed."""
