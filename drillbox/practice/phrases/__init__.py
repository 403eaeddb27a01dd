"""Phrases: brought in, changed, listed, and read as the player reads them."""
