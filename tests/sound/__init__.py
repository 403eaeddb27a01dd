"""Tests of sound."""
