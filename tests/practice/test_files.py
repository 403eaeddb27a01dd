"""A file that was asked for is there whole or not at all, and nothing is overwritten unasked."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from drillbox.errors import BadInput, NotFound
from drillbox.practice.files import check_place, write_whole


def test_a_file_is_written(tmp_path: Path):
    """The bytes replace what was there, readable as the umask says, and nothing beside them."""
    place = tmp_path / "loop.wav"
    place.write_bytes(b"former")
    write_whole(place, b"abc")
    assert place.read_bytes() == b"abc"
    mask = os.umask(0)
    os.umask(mask)
    assert place.stat().st_mode & 0o777 == 0o666 & ~mask
    assert list(tmp_path.iterdir()) == [place]


def test_a_full_disk_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """The former file stays whole, the partial one goes, and the reason is told."""
    place = tmp_path / "loop.wav"
    place.write_bytes(b"former")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BadInput, match="No space left"):
        write_whole(place, b"abc")
    assert place.read_bytes() == b"former"
    assert list(tmp_path.iterdir()) == [place]


def test_breaking_off_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Ctrl-C in the middle of writing: no file, whole or partial."""

    def interrupt(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path / "loop.wav", b"abc")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write all")
def test_a_folder_that_takes_no_files(tmp_path: Path):
    """An unwritable folder is refused with its reason."""
    tmp_path.chmod(0o500)
    with pytest.raises(BadInput, match="Permission denied"):
        write_whole(tmp_path / "loop.wav", b"abc")


def test_places_that_are_refused(tmp_path: Path):
    """A folder, a folder that isn't there, a file that is; the last one gives way to force."""
    with pytest.raises(BadInput, match="is a folder") as refused:
        check_place(tmp_path, example="loop.wav", force=True)
    assert refused.value.remedy.endswith("such as loop.wav")
    with pytest.raises(NotFound, match="no folder"):
        check_place(tmp_path / "nowhere" / "loop.wav", example="loop.wav", force=True)
    there = tmp_path / "loop.wav"
    there.touch()
    with pytest.raises(BadInput, match="exists already") as refused:
        check_place(there, example="loop.wav", force=False)
    assert "--force" in refused.value.remedy
    check_place(there, example="loop.wav", force=True)
