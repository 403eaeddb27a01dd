"""Tests of practice."""
