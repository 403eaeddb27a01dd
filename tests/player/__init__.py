"""Tests of the room player."""
