"""A report's file: refused, whole, or left as it was."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from drillbox.errors import BadInput, NotFound, StoreFailure
from drillbox.practice.reporting import check_place, write_whole


def test_a_file_is_not_overwritten_unasked(tmp_path: Path) -> None:
    """The player's file stays; --force is named."""
    place = tmp_path / "report.html"
    check_place(place, force=False)
    place.write_text("mine")
    with pytest.raises(BadInput, match="exists already") as refused:
        check_place(place, force=False)
    assert "--force" in refused.value.remedy
    check_place(place, force=True)


def test_folders_are_refused(tmp_path: Path) -> None:
    """A folder is no file, and a missing one isn't made in silence."""
    with pytest.raises(BadInput, match="is a folder"):
        check_place(tmp_path, force=True)
    with pytest.raises(NotFound, match="no folder"):
        check_place(tmp_path / "none" / "report.html", force=False)


def test_written_whole_as_utf8_with_the_usual_rights(tmp_path: Path) -> None:
    """What was there is replaced; nothing else is left in the folder."""
    place = tmp_path / "report.html"
    place.write_text("old")
    write_whole(place, "E♭\n")
    assert place.read_bytes() == "E♭\n".encode()
    assert [each.name for each in tmp_path.iterdir()] == ["report.html"]
    mask = os.umask(0o022)
    os.umask(mask)
    assert stat.S_IMODE(place.stat().st_mode) == 0o666 & ~mask


def test_a_failure_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk in the middle: one clear failure, the old file as it was, no remains."""
    place = tmp_path / "report.html"
    place.write_text("old")

    def full(_file: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreFailure, match="No space left"):
        write_whole(place, "new")
    assert place.read_text() == "old"
    assert [each.name for each in tmp_path.iterdir()] == ["report.html"]
