"""Delete a phrase, a tune or a gig for good, after a backup."""

from __future__ import annotations

from datetime import datetime

from drillbox.store import phrase_rows, tune_rows
from drillbox.store.access import Store
from drillbox.store.naming import Named
from drillbox.store.values import PhraseRecord


def delete_phrase(store: Store, record: PhraseRecord, now: datetime) -> None:
    """Delete a phrase with its cards and attempts; raise NotFound where it isn't there any more."""
    phrase_rows.check_there(store, record)
    store.keep_before("deletion", now)
    phrase_rows.delete_phrase(store, record.id, now)


def delete_tune(store: Store, tune: Named, now: datetime) -> None:
    """Delete a tune, and take it out of every gig."""
    store.keep_before("deletion", now)
    tune_rows.delete_tune(store, tune, now)


def delete_gig(store: Store, gig: Named, now: datetime) -> None:
    """Delete a gig; its tunes stay."""
    store.keep_before("deletion", now)
    tune_rows.delete_gig(store, gig, now)
