"""A file that was asked for is there whole or not at all, and nothing is overwritten unasked."""

from __future__ import annotations

import errno
import os
import stat
import time
from functools import partial
from pathlib import Path

import pytest

from drillbox.errors import BadInput, NotFound
from drillbox.notation import write_abc
from drillbox.practice.adding import read_file
from drillbox.practice.keeping import export_store, import_export
from drillbox.store import files
from drillbox.store.backups import sync_file
from drillbox.store.files import check_place, real_path, refuse_unplain, sync_folder, write_whole
from drillbox.store.opening import open_store
from tests.store.making import NOW


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


def test_a_place_that_cannot_be_looked_at_is_told(tmp_path: Path, monkeypatch):
    """A name that is too long, in a file to be written and in a store; and no working folder."""
    long = tmp_path / ("n" * 300)
    for look in (partial(check_place, example="x", force=False), refuse_unplain):
        with pytest.raises(BadInput, match="can't be looked at"):
            look(long)
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()
    with pytest.raises(BadInput, match="can't be looked at"):
        real_path("x.sqlite3")


@pytest.mark.parametrize("write", ["write_whole", "export"])
def test_a_planted_link_is_not_followed(tmp_path: Path, write: str, monkeypatch) -> None:
    """Whoever knows the name of the partial file can't have another file written through it."""
    victim = tmp_path / "victim"
    victim.write_bytes(b"mine")
    out = tmp_path / "out.json"
    for name in (f"{out.name}.part", f".{out.name}.{os.getpid()}.part"):
        (tmp_path / name).symlink_to(victim)
    monkeypatch.setattr(files.os, "urandom", bytes)
    files.part_of(out).symlink_to(victim)
    with open_store(tmp_path / "store.sqlite3", now=NOW, backups=False) as store:
        writes = {
            "export": lambda: export_store(store, out, write_abc),
            "write_whole": lambda: write_whole(out, b"abc"),
        }
        with pytest.raises(BadInput, match="File exists"):
            writes[write]()
    assert victim.read_bytes() == b"mine"
    assert not out.exists()


@pytest.mark.parametrize("kind", ["pipe", "link", "device", "socket"])
def test_only_plain_files_are_replaced(tmp_path: Path, kind: str) -> None:
    """With --force or as an export, and nothing waits for a pipe's other end."""
    out = tmp_path / "out.json"
    make_special(out, kind)
    said = "is a link" if kind == "link" else "isn't a plain file"
    with pytest.raises(BadInput, match=said):
        check_place(out, example="loop.wav", force=True)
    with open_store(tmp_path / "store.sqlite3", now=NOW, backups=False) as store:
        with pytest.raises(BadInput, match=said):
            export_store(store, out, write_abc)
        if kind != "link":
            with pytest.raises(BadInput, match=said):
                import_export(store, out, NOW)
    assert not out.is_file()


@pytest.mark.parametrize("kind", ["pipe", "device", "socket"])
def test_special_files_are_not_read(tmp_path: Path, kind: str) -> None:
    """No store and no notation file is a pipe, a device or a socket, by a link even."""
    there, link = tmp_path / "there", tmp_path / "link"
    make_special(there, kind)
    link.symlink_to(there)
    for each in (there, link):
        with pytest.raises(BadInput, match="isn't a plain file"):
            open_store(each, now=NOW)
        with pytest.raises(BadInput, match="isn't a plain file"):
            read_file(each, part=None, tempo=None, title=None, key=None)


def make_special(path: Path, kind: str) -> None:
    """Put something there that isn't a plain file."""
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "socket":
        os.mknod(path, 0o600 | stat.S_IFSOCK)
    elif kind == "link":
        path.symlink_to(path.with_name("elsewhere"))
    else:
        try:
            os.mknod(path, 0o600 | stat.S_IFCHR, os.makedev(1, 3))
        except PermissionError:
            pytest.skip("making a device needs root")


def test_what_a_killed_program_left_goes(tmp_path: Path) -> None:
    """Half of the same file, when it is written the next time; others' stay."""
    gone = 2**22 + 1
    for name in (f".out.json.{gone}.ab.part", f".other.json.{gone}.ab.part"):
        (tmp_path / name).touch()
        os.utime(tmp_path / name, (time.time() - 700,) * 2)
    write_whole(tmp_path / "out.json", b"abc")
    left = sorted(each.name for each in tmp_path.iterdir())
    assert left == [f".other.json.{gone}.ab.part", "out.json"]


def test_copies_left_by_a_hang_up_go(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A temporary folder whose program is gone is removed by the next; another's link isn't."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    left, link = (
        tmp_path / f"drillbox-copy-{2**22 + 1}-x",
        tmp_path / f"drillbox-copy-{2**22 + 1}-y",
    )
    (left / "deep").mkdir(parents=True)
    link.symlink_to(tmp_path)
    os.utime(left, (time.time() - 700,) * 2)
    with files.scratch_folder() as folder:
        assert folder.is_dir()
        assert not left.exists()
        assert link.is_symlink()
    assert not folder.exists()


@pytest.mark.skipif(not Path("/dev/fd").is_dir(), reason="the system doesn't list descriptors")
def test_what_is_waited_for_is_closed_again(tmp_path: Path):
    """Waiting until a file or a folder is on disk leaves no descriptor open."""
    file = tmp_path / "written"
    file.write_bytes(b"abc")
    before = len(list(Path("/dev/fd").iterdir()))
    for _ in range(5):
        sync_file(file)
        sync_folder(tmp_path)
    assert len(list(Path("/dev/fd").iterdir())) == before
