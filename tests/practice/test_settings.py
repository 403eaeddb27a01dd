"""The system's zone is found by name, or the player is asked; never a wrong one in silence."""

from __future__ import annotations

import shutil
import zoneinfo
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import tzlocal

from drillbox.errors import BadInput
from drillbox.practice.settings import read_setting, stored_value, system_zone


@pytest.mark.parametrize(
    ("told", "name", "ahead"),
    [
        ("Europe/Lisbon", "Europe/Lisbon", None),
        (":Europe/Lisbon", "Europe/Lisbon", None),
        ("UTC", "UTC", 0),
        ("UTC+3", "Etc/GMT+3", -3),  # POSIX counts west of Greenwich
        ("EST5", "Etc/GMT+5", -5),
        ("CST-8", "Etc/GMT-8", 8),
        ("<+03>-3", "Etc/GMT-3", 3),
        ("GMT0", "GMT0", 0),
        ("posix/Europe/Lisbon", "Europe/Lisbon", None),
        ("right/Europe/Lisbon", "Europe/Lisbon", None),
    ],
)
def test_what_tz_names(told: str, name: str, ahead: int | None) -> None:
    """A zone by its name, or fixed hours as POSIX (base definitions 8.3) has them."""
    assert system_zone({"TZ": told}) == name
    if ahead is not None:
        offset = datetime(2026, 3, 1, tzinfo=UTC).astimezone(zoneinfo.ZoneInfo(name)).utcoffset()
        assert offset == timedelta(hours=ahead)


@pytest.mark.parametrize(
    "told", ["Moon/Sea", "CET-1CEST,M3.5.0,M10.5.0/3", "UTC+99", "x", "5:30", "posixrules"]
)
def test_what_names_no_zone_is_refused(told: str) -> None:
    """It is said, with what to do, and no other zone is taken."""
    with pytest.raises(BadInput, match="isn't a time zone") as caught:
        system_zone({"TZ": told})
    assert "drillbox settings zone" in caught.value.remedy


@pytest.mark.parametrize("name", ["localtime", "posixrules", "right/Europe/Lisbon", "", "Moon"])
def test_what_is_another_zone_on_each_computer_is_not_set(name: str) -> None:
    """Files that lie beside the zones have no name that an export could tell."""
    with pytest.raises(BadInput, match="can't be set as zone"):
        read_setting("zone", name)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("C G D A E B F# Db Ab Eb Bb F", "C G D A E B F# Db Ab Eb Bb F"),
        ("Cm Gm Dm Am Em Bm F#m C#m G#m D#m Bbm Fm", "C G D A E B F# C# Ab Eb Bb F"),
    ],
)
def test_an_own_order_can_be_read_again(typed: str, kept: str) -> None:
    """That of minor keys as well, of which some tonics are none of a major key."""
    assert read_setting("own_order", typed) == stored_value("own_order", kept) == kept


def test_a_copied_localtime_is_known_by_its_rules(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file of the same rules is that zone; one of no zone's rules is refused."""
    monkeypatch.setattr(tzlocal, "get_localzone_name", lambda: None)
    zones = tmp_path / "zones" / "Asia"
    zones.mkdir(parents=True)
    (zones / "Tokyo").write_bytes(b"TZif rules of a zone")
    monkeypatch.setattr(zoneinfo, "TZPATH", (str(tmp_path / "zones"),))
    monkeypatch.setattr(zoneinfo, "available_timezones", lambda: {"Japan", "Asia/Tokyo"})
    clock = Path(shutil.copyfile(zones / "Tokyo", tmp_path / "localtime"))
    assert system_zone({}, clock) == system_zone({"TZ": ":localtime"}, clock) == "Asia/Tokyo"
    clock.write_bytes(b"TZif others")
    with pytest.raises(BadInput, match="has no known name"):
        system_zone({}, clock)
    assert system_zone({}, tmp_path / "none") == "UTC"


def test_a_drill_in_a_zone_without_a_name(drillbox, kettle, monkeypatch) -> None:
    """One line and exit code 3; the setting that it names helps."""
    monkeypatch.setenv("TZ", "Moon/Sea")
    ran = kettle("drill", keys="c\n")
    assert ran.code == 3
    assert ran.err.startswith("drillbox: TZ is 'Moon/Sea'")
    assert kettle("settings", "zone", "Europe/Lisbon").code == 0
    assert kettle("drill", keys="c\n").code == 0
