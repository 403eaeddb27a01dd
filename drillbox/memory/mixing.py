"""A hash of our own for spreading and mixing: the same on every machine and in every run."""

from __future__ import annotations

from zlib import crc32

_MASK = 0xFFFFFFFF


def seeded(text: str) -> int:
    """Return a 32-bit number that stands for a text."""
    return crc32(text.encode())


def mixed(seed: int, number: int) -> int:
    """Return a 32-bit number that looks random for each pair of seed and number.

    The finalizer of MurmurHash3 (Appleby); a bare CRC is linear, and its least value over
    neighbouring days is not spread evenly.
    """
    value = (seed + number * 0x9E3779B1) & _MASK
    value ^= value >> 16
    value = value * 0x85EBCA6B & _MASK
    value ^= value >> 13
    value = value * 0xC2B2AE35 & _MASK
    return value ^ value >> 16
