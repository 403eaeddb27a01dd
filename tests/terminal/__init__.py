"""Tests of terminal."""
