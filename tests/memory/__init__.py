"""Tests of memory."""
