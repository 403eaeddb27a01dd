"""Tests of drillbox."""
