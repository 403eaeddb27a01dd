"""Backups: made when they should be, whole, kept as long as promised."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.errors import BadInput, DrillboxError, NotFound, StoreFailure
from drillbox.memory.recall import Recall
from drillbox.store.access import Damaged, Store, damage
from drillbox.store.backups import (
    back_up,
    backup_of,
    daily_backup,
    fault_in,
    past_keeping,
    practice_days,
    stored_room,
)
from drillbox.store.card_rows import card
from drillbox.store.files import (
    ROOM,
    ROOM_SETTING,
    Backup,
    backups_folder,
    list_backups,
    newest_backup,
    realm,
)
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import all_titles, delete_phrase
from drillbox.store.sessions import begin_session
from drillbox.store.setting_rows import set_setting
from tests.conftest import copied
from tests.store.hardship import lend, no_file_over, public_folder, without_rights
from tests.store.making import NOW, add, go, session
from tests.store.reading import attempts_of


def test_a_backup_holds_what_only_the_wal_holds(store: Store, tmp_path: Path) -> None:
    """Made beside an open writer, it has every committed row and stands without other files."""
    add(store, "Late kettle")
    made = go(store, 1, session(store), (Recall.LOST, Recall.CLEAN))
    assert store.place.with_name("store.sqlite3-wal").stat().st_size > 0
    kept = back_up(store.engine, store.place, NOW, "asked")
    alone = kept.path.rename(tmp_path / "alone.sqlite3")
    assert fault_in(alone) is None
    with open_store(alone, now=NOW) as copy:
        assert all_titles(copy) == ["Late kettle"]
        assert attempts_of(copy, 1) == made
        assert card(copy, 1) == card(store, 1)


def test_a_backup_is_on_disk_before_it_has_its_name(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A power cut right after its making finds no empty file under a backup's name."""
    synced: set[int] = set()

    def noting(handle: int, whole: Callable[[int], None] = os.fsync) -> None:
        if not list_backups(store.place):
            synced.add(os.fstat(handle).st_ino)
        whole(handle)

    monkeypatch.setattr(os, "fsync", noting)
    assert back_up(store.engine, store.place, NOW, "asked").path.stat().st_ino in synced


def test_a_backup_is_named_by_its_time_and_reason(store: Store) -> None:
    """The list tells newest first; other files in the folder are left alone."""
    add(store, "Late kettle")
    one = back_up(store.engine, store.place, NOW, "asked")
    two = back_up(store.engine, store.place, NOW + timedelta(seconds=90.7), "migration")
    (backups_folder(store.place) / "notes.txt").write_text("mine")
    (backups_folder(store.place) / "mine.sqlite3").write_text("mine")
    assert list_backups(store.place) == [two, one]
    assert newest_backup(store.place) == two
    assert two.path.name == "20260301T180130Z-migration.sqlite3"
    assert two.at == NOW + timedelta(seconds=90)
    assert one.size == one.path.stat().st_size
    assert len(list(backups_folder(store.place).iterdir())) == 4


def days_of(place: Path) -> list[datetime]:
    """Return when the backups of days were made, oldest first."""
    return [each.at for each in reversed(list_backups(place)) if each.reason == "day"]


def test_the_first_change_of_a_practice_day_is_preceded_by_a_backup(place: Path) -> None:
    """One a day, with what there was before the change; none where nothing changes."""
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
        add(store, "Blue door")
    assert days_of(place) == []  # there was nothing to lose
    for hours in (1, 2):
        with open_store(place, now=NOW + timedelta(hours=hours)) as store:
            all_titles(store)
            add(store, f"Title {hours}")
    tomorrow = NOW + timedelta(days=1)
    with open_store(place, now=tomorrow) as store:
        all_titles(store)
    assert days_of(place) == [NOW + timedelta(hours=1)]
    with open_store(place, now=tomorrow) as store:
        add(store, "Title 3")
    first, second = reversed(list_backups(place))
    assert (first.at, second.at) == (NOW + timedelta(hours=1), tomorrow)
    with open_store(first.path, now=NOW) as kept:
        assert all_titles(kept) == ["Late kettle", "Blue door"]
    with open_store(second.path, now=NOW) as kept:
        assert all_titles(kept) == ["Late kettle", "Blue door", "Title 1", "Title 2"]


def test_each_day_of_one_long_session_has_its_backup(place: Path) -> None:
    """Left open overnight, a rating of the next practice day is preceded by another."""
    with open_store(place, now=NOW, backups=False) as store:
        add(store, "Late kettle")
    with open_store(place, now=NOW) as store:
        at = session(store)
        for hours in (0, 1, 24, 25):
            moment = NOW + timedelta(hours=hours)
            go(store, 1, at, at=moment, day=moment.date())
    found = [each.at for each in list_backups(place) if each.reason == "day"]
    assert found == [NOW + timedelta(days=1), NOW]


def backed_up(store: Store, at: datetime) -> Backup | None:
    """Make the day's backup as before a change."""
    days = practice_days(store.engine, store.place)
    return daily_backup(store.engine, store.place, at, days)


def test_the_day_is_the_practice_day(store: Store) -> None:
    """After midnight it is still the evening before, in the player's own zone and hour."""
    add(store, "Late kettle")
    begin_session(store, minutes=20, zone="America/New_York", kind="drill", now=NOW)
    evening = datetime(2026, 3, 2, 3, 30, tzinfo=UTC)  # 22:30 in New York
    assert backed_up(store, evening)
    after_midnight = datetime(2026, 3, 2, 8, 30, tzinfo=UTC)  # 03:30
    assert backed_up(store, after_midnight) is None
    set_setting(store, "day_start_hour", 3)
    assert backed_up(store, after_midnight)
    # A clock that once stood ahead keeps no later day from its backup.
    assert backed_up(store, NOW + timedelta(days=400))
    assert backed_up(store, NOW + timedelta(days=3))
    assert backed_up(store, NOW + timedelta(days=3, hours=1)) is None


def test_an_unknown_zone_falls_back_to_the_offset_of_its_attempts(store: Store) -> None:
    """A session of a computer whose zone data are newer: its clock was five hours behind UTC."""
    add(store, "Late kettle")
    go(store, 1, session(store))
    with store.write(backup=False) as connection:
        connection.exec_driver_sql("UPDATE drill_session SET zone = 'Atlantis/Reef'")
        connection.exec_driver_sql("UPDATE attempt SET zone = 'Atlantis/Reef', utc_offset = -300")
    assert backed_up(store, datetime(2026, 3, 2, 3, 30, tzinfo=UTC))
    after_midnight = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)  # 02:30 there
    assert backed_up(store, after_midnight) is None
    assert backed_up(store, after_midnight + timedelta(hours=3))


def test_a_damaged_store_is_not_backed_up_nor_changed(place: Path) -> None:
    """The day's backup finds damage before the first change and keeps the older backups."""
    with open_store(place, now=NOW) as store:
        add(store, *(f"Title {number}" for number in range(30)))
        good = back_up(store.engine, place, NOW, "asked")
    with place.open("r+b") as file:
        file.seek(place.stat().st_size - 4096)
        file.write(b"\xff" * 4096)
    before = place.read_bytes()
    with open_store(place, now=NOW + timedelta(days=1)) as store:
        for _ in range(2):
            with pytest.raises(Damaged) as caught:
                add(store, "Blue door")
    assert str(good.path) in caught.value.remedy
    assert list_backups(place) == [good]
    assert [each.name for each in backups_folder(place).iterdir()] == [good.path.name]
    assert place.read_bytes() == before


def test_a_backup_that_cannot_be_made_is_told_but_keeps_no_rating_out(place: Path) -> None:
    """The rating is stored; the failure waits for the player to be told."""
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
        at = session(store)
    backups_folder(place).write_text("in the way")
    with open_store(place, now=NOW) as store:
        go(store, 1, at)
        assert store.backup_failure is not None
        assert "File exists" in store.backup_failure.what
        assert len(attempts_of(store, 1)) == 1


@pytest.mark.parametrize("mode", [0o000, 0o400, 0o500])
def test_a_folder_of_backups_that_is_shut_keeps_no_rating_out(empty: Path, mode: int) -> None:
    """Whether it may not be read, entered or written: the rating is stored, the failure told."""
    with public_folder() as folder:
        place = lend(copied(empty, folder / "store.sqlite3"))
        with open_store(place, now=NOW, backups=False) as store:
            add(store, "Late kettle")
            at = session(store)
            back_up(store.engine, place, NOW - timedelta(days=3), "asked")
        lend(backups_folder(place)).chmod(mode)
        with without_rights():
            with open_store(place, now=NOW) as store:
                go(store, 1, at)
                assert "Permission denied" in str(store.backup_failure)
                assert len(attempts_of(store, 1)) == 1
            if mode != 0o500:
                with pytest.raises(BadInput, match="can't be looked at: Permission denied"):
                    list_backups(place)
                assert "Allow yourself to read and enter it" in damage(place).remedy
        place.unlink()
        with without_rights(), pytest.raises(DrillboxError, match="backups"):
            open_store(place, now=NOW)
        assert not place.exists()


def test_no_room_for_a_backup(store: Store) -> None:
    """A clear line, no half backup, and the former ones stay."""
    add(store, "Late kettle")
    good = back_up(store.engine, store.place, NOW, "asked")
    with no_file_over(8192), pytest.raises(StoreFailure, match="has no room to grow"):
        back_up(store.engine, store.place, NOW + timedelta(days=1), "asked")
    assert list(backups_folder(store.place).iterdir()) == [good.path]


def test_a_backup_is_found_by_name_or_path(store: Store) -> None:
    """As the list shows it, or as a path; anything else is refused."""
    add(store, "Late kettle")
    made = back_up(store.engine, store.place, NOW, "asked")
    assert backup_of(store.place, made.path.name) == made.path
    assert backup_of(store.place, str(made.path)) == made.path
    with pytest.raises(NotFound, match="no backup 'yesterday'"):
        backup_of(store.place, "yesterday")


def test_a_fault_in_a_backup_is_seen(tmp_path: Path) -> None:
    """Neither noise nor another database passes for a backup."""
    noise = tmp_path / "noise.sqlite3"
    noise.write_bytes(b"noise" * 1000)
    assert fault_in(noise) == "file is not a database"
    with closing(sqlite3.connect(tmp_path / "other.sqlite3")) as other:
        other.execute("CREATE TABLE mine (id INTEGER)")
    assert fault_in(tmp_path / "other.sqlite3") == "no such table: alembic_version"
    assert fault_in(tmp_path / "none.sqlite3") == "unable to open database file"


def backup_at(at: datetime) -> Backup:
    """Return a backup as the list gives it."""
    return Backup(Path(f"{at:%Y%m%dT%H%M%SZ}-day.sqlite3"), at, "day", 1)


def test_seven_days_four_weeks_and_twelve_months_are_kept() -> None:
    """After two years of daily backups, by the calendar."""
    newest_first = [backup_at(NOW - timedelta(days=days)) for days in range(730)]
    gone = past_keeping(newest_first)
    kept = [each.at.date() for each in newest_first if each not in gone]
    days = [date(2026, 3, 1) - timedelta(days=number) for number in range(7)]
    weeks = [date(2026, 2, 22), date(2026, 2, 15), date(2026, 2, 8)]  # Sundays
    months = [
        date(2026, 2, 28), date(2026, 1, 31), date(2025, 12, 31), date(2025, 11, 30),
        date(2025, 10, 31), date(2025, 9, 30), date(2025, 8, 31), date(2025, 7, 31),
        date(2025, 6, 30), date(2025, 5, 31), date(2025, 4, 30),
    ]  # fmt: skip
    assert set(kept) == {*days, *weeks, *months}


@settings(max_examples=60)
@given(st.lists(st.integers(0, 900), min_size=1, max_size=60, unique=True))
def test_pruning_day_by_day_keeps_the_newest_and_a_bounded_number(offsets: list[int]) -> None:
    """However seldom one practises: the newest always stays, and never more than 23."""
    kept: list[Backup] = []
    for offset in sorted(offsets):
        kept.insert(0, backup_at(datetime(2026, 1, 1, 18, tzinfo=UTC) + timedelta(days=offset)))
        gone = past_keeping(kept)
        kept = [each for each in kept if each not in gone]
        assert kept[0] not in gone
        assert len(kept) <= 7 + 4 + 12
        assert kept[:7] == sorted(kept, key=lambda each: each.at, reverse=True)[:7]
    assert len(kept) >= min(len(offsets), 7)


def test_old_backups_go_when_a_new_one_is_made(store: Store) -> None:
    """Pruning is part of making one; those that the player asked for stay."""
    add(store, "Late kettle")
    asked = [
        back_up(store.engine, store.place, NOW + timedelta(seconds=n), "asked") for n in (1, 2)
    ]
    before = back_up(store.engine, store.place, NOW + timedelta(seconds=3), "migration")
    for days in range(12):
        back_up(store.engine, store.place, NOW + timedelta(days=days), "day")
    found = list_backups(store.place)
    assert {*asked, before} <= set(found)
    assert [each.at for each in found if each.reason == "day"] == [
        # The newest of the first week, a Sunday, is kept besides the last seven days.
        *(NOW + timedelta(days=days) for days in range(11, 4, -1)),
        NOW,
    ]


def test_what_was_deleted_is_in_a_backup_for_ten_edits(store: Store) -> None:
    """Each has one of its own, though all are made in the same second."""
    add(store, *(f"Phrase {number}" for number in range(11)))
    made = []
    for number in range(1, 12):
        made.append(back_up(store.engine, store.place, NOW, "edit"))
        delete_phrase(store, number, NOW)
    found = list_backups(store.place)
    assert found == made[:0:-1]
    held = []
    for each in found:
        with closing(sqlite3.connect(each.path)) as copy:
            held.append(copy.execute("SELECT count(*) FROM phrase").fetchone()[0])
    assert held == list(range(1, 11))


def test_a_backup_just_made_stays_though_the_clock_was_set_back(store: Store) -> None:
    """By its time it may be one to thin out; what it was made for needs it now."""
    add(store, "Late kettle")
    for days in range(12):
        back_up(store.engine, store.place, NOW + timedelta(days=days), "edit")
    made = back_up(store.engine, store.place, NOW + timedelta(days=1, hours=2), "edit")
    assert made.path.stat().st_size == made.size


def test_all_backups_together_take_no_more_than_their_room() -> None:
    """The oldest go first; the newest of each kind and those asked for stay, whatever they take."""
    made = [
        Backup(Path(f"{number}"), NOW - timedelta(days=number), reason, 3_000_000)
        for number, reason in enumerate(["day", "asked", *["day"] * 5, "migration", "migration"])
    ]
    assert past_keeping(made, 1000) == []
    gone = past_keeping(made, 15)
    left = [each for each in made if each not in gone]
    assert sum(each.size for each in left) <= 15_000_000
    assert [each.path.name for each in left] == ["0", "1", "2", "3", "7"]
    assert [each.path.name for each in made if each not in past_keeping(made, 1)] == ["0", "1", "7"]


def test_the_room_for_backups_is_a_setting(store: Store) -> None:
    """Set to less, the next backup deletes the oldest; a value that can't be is the default."""
    for day in range(4):
        back_up(store.engine, store.place, NOW + timedelta(days=day), "day")
    size = list_backups(store.place)[0].size
    with store.engine.begin() as connection:
        connection.exec_driver_sql("CREATE TABLE big AS SELECT zeroblob(9600000) AS x")
    set_setting(store, ROOM_SETTING, 10)
    assert stored_room(store.place) == 10
    back_up(store.engine, store.place, NOW + timedelta(days=5), "day")
    left = list_backups(store.place)
    assert left[0].size > 9_000_000
    assert len(left) == 1 + (10_000_000 - left[0].size) // size < 5
    set_setting(store, ROOM_SETTING, "none")
    assert stored_room(store.place) == ROOM


@pytest.mark.parametrize(
    "strange", ["dangling", "20261399T250000Z", "99991231T235959Z", "00010101T000000Z", "folder"]
)
def test_strange_things_among_the_backups_keep_no_rating_out(place: Path, strange: str) -> None:
    """A link that leads nowhere and dates that never were are no backups, and no hindrance."""
    folder = place.with_name(f"{place.name}-backups")
    folder.mkdir(mode=0o700)
    if strange == "dangling":
        (folder / "20260101T000000Z-day.sqlite3").symlink_to(folder / "nowhere")
    elif strange == "folder":
        (folder / "20260101T000000Z-day.sqlite3").mkdir()
    else:
        (folder / f"{strange}-day.sqlite3").write_bytes(b"")
    with open_store(place, now=NOW, backups=False) as store:
        add(store, "Late kettle")
        at = session(store)
    with open_store(place, now=NOW) as store:
        go(store, 1, at)
        assert store.backup_failure is None
        assert [each.reason for each in list_backups(place)] == ["day"]


def test_half_written_backups_of_killed_programs_go(store: Store) -> None:
    """At once where the program was one of this computer's, else when they are old; never that
    of a program that runs."""
    folder = backups_folder(store.place)
    folder.mkdir(mode=0o700, exist_ok=True)
    gone, runs = 2**22 + 1, os.getpid()
    made = {
        f".a.{gone}.ab.part": 700, f".b.{gone}.ab.part": 0, f".c.{runs}.ab.part": 700,
        "mine.part": 700, f"d.{gone}.part": 700,
        f".e.{gone}-{realm()}.ab.part": 0, f".f.{runs}-{realm()}.ab.part": 700,
        f".g.{gone}-0000beef.ab.part": 0,
    }  # fmt: skip
    for name, age in made.items():
        (folder / name).touch()
        os.utime(folder / name, (time.time() - age,) * 2)
    back_up(store.engine, store.place, NOW, "asked")
    left = sorted(each.name for each in folder.glob("*.part"))
    assert left == sorted([
        f".b.{gone}.ab.part", f".c.{runs}.ab.part", f".f.{runs}-{realm()}.ab.part",
        f".g.{gone}-0000beef.ab.part", "mine.part",
    ])  # fmt: skip


@pytest.mark.parametrize("end", ["", "-journal", "-wal", "-shm"])
def test_half_a_copy_goes_with_what_sqlite_keeps_beside_it(store: Store, end: str) -> None:
    """Among the backups, and beside the store where a restore was killed; other stores' stay."""
    folder = backups_folder(store.place)
    folder.mkdir(mode=0o700, exist_ok=True)
    half = f"{2**22 + 1}-{realm()}.ab.part{end}"
    left = [folder / f".a.{half}", store.place.with_name(f".{store.place.name}.{half}")]
    left.append(folder / f".a.{half.replace('.ab.', '.3621061878896239.')}")  # digits alone
    for each in (*left, other := store.place.with_name(f".other.{half}")):
        each.touch()
    back_up(store.engine, store.place, NOW, "asked")
    assert [each for each in left if each.exists()] == []
    assert other.exists()


def test_edits_do_not_thin_out_what_a_deletion_left(store: Store) -> None:
    """Ten of each stay, the newest ones."""
    add(store, "Late kettle")
    made = {"edit": [], "deletion": []}
    for number in range(24):
        reason = "deletion" if number in {0, 1} or number > 14 else "edit"
        at = NOW + timedelta(minutes=number)
        store.keep_before(reason, at)
        made[reason].append(at)
    found = list_backups(store.place)
    for reason, times in made.items():
        assert [each.at for each in found if each.reason == reason] == times[:-11:-1]
