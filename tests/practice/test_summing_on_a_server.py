"""Summary, progress and the days to come from a PostgreSQL server equal those from a file."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest

from drillbox.practice.coming import coming
from drillbox.practice.preferences import preferences_from
from drillbox.practice.progress import progress
from drillbox.practice.summing import summary
from drillbox.store import first_tries as module
from drillbox.store.access import Store
from drillbox.store.log import logs_of, recall_counts
from drillbox.store.opening import open_store
from tests.practice.past import NOW, TODAY, build_past
from tests.store.serving import PASSWORD, served

SHORT = {"zone": "UTC", "minutes": 1}  # such days are soon looked ahead over
SETTINGS = preferences_from(SHORT)


@pytest.fixture(scope="module")
def served_past() -> Iterator[Store]:
    """Return a store on a server, open, with eight weeks behind it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PGPASSWORD", PASSWORD)
        with served() as server:
            address = server.made()
            build_past(address)
            with open_store(address, now=NOW, backups=False) as store:
                yield store


@pytest.mark.parametrize("fine", [20_000, 10], ids=["fine", "lumped"])
def test_the_summary_is_the_same(
    served_past: Store, past: Store, fine: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same rows of evidence, and so the same verdicts, to the last digit that is shown."""
    monkeypatch.setattr(module, "FINE", fine)
    since = TODAY - timedelta(days=720)
    ours, theirs = (
        sorted(module.evidence(store, TODAY, since, 90.0)[0], key=repr)
        for store in (past, served_past)
    )
    assert ours == theirs
    here, there = (summary(store, SETTINGS, NOW) for store in (past, served_past))
    assert here.present == pytest.approx(there.present)
    assert [(each.name, each.verdict, each.tries) for each in here.keys] == [
        (each.name, each.verdict, each.tries) for each in there.keys
    ]
    assert here.advice == there.advice
    assert here.changes.owned == there.changes.owned


def test_weeks_and_days_to_come_are_the_same(served_past: Store, past: Store) -> None:
    """Sums, replayed logs, and every day that was played through."""
    here, there = (progress(store, SETTINGS, NOW, 12) for store in (past, served_past))
    assert [week.monday for week in here] == [week.monday for week in there]
    for ours, theirs in zip(here, there, strict=True):
        assert (ours.tries, ours.recalled, ours.started, ours.owned) == (
            theirs.tries, theirs.recalled, theirs.started, theirs.owned,
        )  # fmt: skip
        assert ours.minutes == pytest.approx(theirs.minutes)
        assert ours.tempo == (None if theirs.tempo is None else pytest.approx(theirs.tempo))
    assert coming(past, SETTINGS, NOW, 14, 5) == coming(served_past, SETTINGS, NOW, 14, 5)
    assert list(logs_of(past, [3, 1, 40])) == list(logs_of(served_past, [3, 1, 40]))
    assert recall_counts(past, TODAY - timedelta(days=30)) == recall_counts(
        served_past, TODAY - timedelta(days=30)
    )
