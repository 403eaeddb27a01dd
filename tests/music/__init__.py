"""Tests of music."""
