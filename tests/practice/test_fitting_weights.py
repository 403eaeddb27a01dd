"""Fitting the memory model to a player: kept where it is better, and taken back whole."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from drillbox.errors import BadInput
from drillbox.memory.candidates import Candidate
from drillbox.memory.recall import DEFAULT_WEIGHTS
from drillbox.practice import changing as module
from drillbox.practice.changing import change_setting, fit_weights, restore_defaults
from drillbox.practice.demo import demo_store
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.checks import check_store
from drillbox.store.opening import open_store
from drillbox.store.setting_rows import get_settings

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)


@pytest.fixture
def played(tmp_path: Path):
    """Return a store with an invented player's eight weeks."""
    place = demo_store(NOW, lambda _: None, tmp_path)
    with open_store(place, now=NOW, backups=False) as store:
        yield store


def rows(store: Store) -> list[tuple]:
    """Return every card's state as it stands in the store."""
    words = "SELECT id, stability, difficulty, last_day, tempo, clean_run, due_day FROM card"
    with store.read() as connection:
        return [tuple(row) for row in connection.exec_driver_sql(f"{words} ORDER BY id")]


def rules(store: Store):
    """Return the rules in force."""
    return preferences_from(get_settings(store)).rules


def test_weights_are_kept_only_where_they_predict_better(played: Store):
    """Both losses are told; the store's cards are what their attempts give by the new weights."""
    before = rows(played)
    found = fit_weights(played, NOW)
    assert found.attempts >= 400
    assert (found.weights is not None) == (found.loss < found.default_loss)
    assert (rules(played).weights is not None) == (found.weights is not None)
    assert not check_store(played, rules(played))
    restore_defaults(played, NOW)
    assert rules(played).weights is None
    assert rows(played) == before


def test_too_few_attempts_are_refused(tmp_path: Path):
    """An empty store has none; the line says how many it takes."""
    with (
        open_store(tmp_path / "new.sqlite3", now=NOW, backups=False) as store,
        pytest.raises(BadInput, match="too few") as refused,
    ):
        fit_weights(store, NOW)
    assert "400" in refused.value.remedy


def test_another_ladder_reckons_every_card_anew(played: Store):
    """With a rung of 10 % the cards are what replay gives; and the way back is exact."""
    before = rows(played)
    change_setting(played, "tempo_step", "0.1", NOW)
    assert not check_store(played, rules(played))
    assert rows(played) != before
    change_setting(played, "tempo_step", None, NOW)
    assert rows(played) == before


def test_the_default_weights_are_the_librarys():
    """Twenty-one of them, as the library has them."""
    from fsrs.scheduler import DEFAULT_PARAMETERS

    assert tuple(DEFAULT_PARAMETERS) == DEFAULT_WEIGHTS


def test_of_very_many_attempts_some_cards_are_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """All below the bound, whole cards up to it, of every key, and the same each time."""
    cards = [Candidate(n, n // 12, n % 12, 16.0, 120, 100, last_day=9, clean=7, missed=3)
             for n in range(1200)]  # fmt: skip
    assert sorted(module._drawn([*cards, cards[0]._replace(card_id=-1, last_day=0)])) == list(
        range(1200)
    )
    monkeypatch.setattr(module, "MOST", 1000)
    drawn = module._drawn(cards)
    assert len(drawn) == 100
    assert {each % 12 for each in drawn} == set(range(12))
    assert module._drawn(cards) == drawn
