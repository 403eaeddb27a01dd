"""Tests of screen."""
