"""Mixing looks random and is the same everywhere."""

from __future__ import annotations

from zlib import crc32

from drillbox.memory.mixing import mixed, seeded


def test_known_values():
    """The finalizer gives MurmurHash3's fmix32, and a text its CRC-32."""
    # fmix32(0) = 0 and fmix32(1) = 0x514E28B7 are test values of the published algorithm.
    assert mixed(0, 0) == 0
    assert mixed(1, 0) == 0x514E28B7
    # The CRC-32 check value of "123456789" in every catalogue of CRCs.
    assert seeded("123456789") == 0xCBF43926 == crc32(b"123456789")


def test_least_of_neighbours_is_even():
    """Which of five neighbouring numbers has the least hash is as good as a fair die."""
    wins = [0] * 5
    for seed in range(5000):
        wins[min(range(5), key=lambda number: mixed(seed, number))] += 1
    # 1000 each; standard deviation 28.
    assert all(abs(each - 1000) < 5 * 28.3 for each in wins)
