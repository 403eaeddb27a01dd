"""The demo store: invented, built whole, kept for the day, apart from the player's own."""

from __future__ import annotations

import os
import shutil
import tempfile
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from drillbox.memory.cards import replay
from drillbox.memory.rules import Rules
from drillbox.music.fits import Phrases
from drillbox.practice import demo
from drillbox.practice.demo import demo_store
from drillbox.store.card_rows import cards_of
from drillbox.store.gig_rows import list_gigs
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import list_phrases, phrase, phrases_in_practice
from drillbox.store.processes import realm
from drillbox.store.tune_rows import list_tunes
from tests.store.reading import attempts_of, opened_on

NOW = datetime(2026, 3, 1, 18, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    said: list[str] = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TZ", "UTC")  # this fixture comes before the one that sets it for each test
        path = demo_store(NOW, said.append, tmp_path_factory.mktemp("demo"))
    assert len(said) == 1
    assert "invented" in said[0]
    assert str(path) in said[0]
    return path


def test_holds_the_phrases_and_a_past(built: Path) -> None:
    """Every demo phrase is there in twelve keys, and every card stands where its past leads."""
    attempts = opened = 0
    with open_store(built, now=NOW, backups=False) as store:
        phrases = list_phrases(store)
        for each in phrases:
            record = phrase(store, each.id)
            assert record.phrase.line
            assert record.analysis_document is not None
            assert record.added_at < NOW - timedelta(weeks=4)
            cards = cards_of(store, each.id)
            assert len({card.key.tonic.pitch_class for card in cards}) == 12
            for card in cards:
                made = attempts_of(store, card.id)
                replayed = replay(card.goal, (one.attempted() for one in made), Rules())
                assert replayed == card.state
                assert all(record.added_at < one.at < NOW - timedelta(hours=6) for one in made)
                attempts += len(made)
                opened += bool(made)
        assert opened_on(store, NOW.date()) == 0
    assert len(phrases) == 12
    assert 800 < attempts < 2500  # eight weeks of some five days, with 20 to 60 goes each
    assert opened > 50


def test_is_kept_for_the_day(built: Path, tmp_path: Path) -> None:
    """On the same day the same store is opened again; the next day has one of its own.

    That day's stays where a program has it open; the day after both are gone.
    """
    built = Path(shutil.copy2(built, tmp_path))
    before = built.stat()
    assert demo_store(NOW + timedelta(hours=2), lambda _: None, built.parent) == built
    assert (built.stat().st_ino, built.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)
    killed = built.parent / f"drillbox-copy-{2**22 + 1}-{realm()}-half"  # in building, of yesterday
    killed.mkdir()
    tomorrow = demo_store(NOW + timedelta(days=1), lambda _: None, built.parent)
    assert not killed.exists()
    assert tomorrow.name == "demo-2026-03-02.sqlite3"
    assert not built.exists()
    with open_store(tomorrow, now=NOW, backups=False) as store:
        assert list_phrases(store)
        demo_store(NOW + timedelta(days=2), lambda _: None, built.parent)
        assert tomorrow.exists()
    demo_store(NOW + timedelta(days=3), lambda _: None, built.parent)
    assert [each.name for each in tmp_path.iterdir()] == ["demo-2026-03-04.sqlite3"]


def test_leaves_nothing_half_built(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Broken off in the middle, it leaves no file behind, and the next call builds it."""

    def broken_off(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(demo, "add_history", broken_off)
        with pytest.raises(KeyboardInterrupt):
            demo_store(NOW, lambda _: None, tmp_path)
    assert list(tmp_path.iterdir()) == []
    assert demo_store(NOW, lambda _: None, tmp_path).exists()


def test_lies_in_a_private_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a folder it goes to the user's own among the temporary files, closed to others."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    path = demo_store(NOW, lambda _: None)
    assert path.parent.parent == tmp_path
    if os.name == "posix":
        assert path.parent.stat().st_mode & 0o077 == 0


def test_shuns_what_another_put_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where its folder's name is taken by a link or a file, it makes a fresh folder instead."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    first = demo._own_folder()
    first.rmdir()
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    first.symlink_to(elsewhere)
    assert demo._own_folder() not in {first, elsewhere}
    first.unlink()
    first.write_text("taken")
    assert demo._own_folder() != first


def test_has_invented_tunes_and_a_gig_to_come(built: Path) -> None:
    """Two of the tunes are on next Friday's, in three days at least; phrases fit into each."""
    with open_store(built, now=NOW, backups=False) as store:
        tunes, (gig,) = list_tunes(store), list_gigs(store)
        index = Phrases(phrases_in_practice(store))
    assert [len(each.tune.chart.bars) for each in tunes] == [32, 16, 12]
    assert (gig.day, [each.title for each in gig.tunes]) == (
        date(2026, 3, 6),
        ["Ninth stop", "Chalk and rain"],
    )
    assert all(index.fits(each.tune) for each in tunes)
