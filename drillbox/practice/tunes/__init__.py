"""Tunes and gigs: brought in, where phrases fit, and what will be ready by the day."""
