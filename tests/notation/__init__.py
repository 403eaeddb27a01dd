"""Tests of notation."""
