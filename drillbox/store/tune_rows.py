"""Tunes and gigs: brought in, listed, found by what the player types, changed, deleted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from drillbox.errors import BadInput, NotFound
from drillbox.music.charts import chart_from, chart_json
from drillbox.music.keys import key_text, parse_key
from drillbox.music.phrases import folded_title
from drillbox.music.tunes import Tune, form_text, parse_form
from drillbox.store.naming import Named, Noun, find_row
from drillbox.store.sql import DELETED_GIG, DELETED_TUNE, GIG, GIG_TUNE, TUNE, Table, change, query
from drillbox.store.twins import numbers_by_uid, uids_of
from drillbox.store.values import GigRecord, TuneRecord, new_uid, time_of_change

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from drillbox.store.access import Store

# What was written down of a tune; the rest of its columns are about it.
WRITTEN = ("title", "key", "tempo", "chart", "form", "tags")
NOUN = Noun("tune", "drillbox tune list", "drillbox tune add")


class NewTune(NamedTuple):
    """A tune to be, with the player's tags for it."""

    tune: Tune
    tags: tuple[str, ...] = ()


def add_tunes(store: Store, new: Sequence[NewTune], now: datetime) -> list[TuneRecord]:
    """Store tunes in one transaction: all or none. Raises BadInput where a title is taken."""
    with store.write() as connection:
        return [_add(connection, each, now) for each in new]


def _add(connection: Connection, new: NewTune, now: datetime) -> TuneRecord:
    tune, uid = new.tune, new_uid()
    _refuse_taken(connection, TUNE, tune.title)
    values = {
        "uid": uid,
        "also": [],
        "folded": folded_title(tune.title),
        "added_at": now,
        "changed_at": None,
        **columns_of(new),
    }
    number = connection.execute(change(f"{TUNE.insert()} RETURNING id"), values).scalar_one()
    return TuneRecord(number, uid, tune, new.tags, now)


def _refuse_taken(connection: Connection, table: Table, title: str, besides: int = 0) -> None:
    """Raise BadInput where a tune or a gig has the title, other than the one of a number."""
    words = query(f"SELECT title FROM {table.name} WHERE folded = :folded AND id <> :id")
    found = {"folded": folded_title(title), "id": besides}
    taken = connection.execute(words, found).scalar()
    if taken is not None:
        called = "name" if table is GIG else "title"
        raise BadInput(
            f"There is a {table.name} {taken!r} already",
            f"Choose another {called}, or delete the other first: drillbox {table.name} delete.",
        )


def change_tune(store: Store, record: TuneRecord, new: NewTune, now: datetime) -> None:
    """Store a tune in place of what it was; it keeps its places in gigs.

    ``now`` is kept as the time of the change, by which the later of two stores' versions wins.
    Raises BadInput where another has the title, NotFound where it was deleted meanwhile.
    """
    values = columns_of(new) | {"folded": folded_title(new.tune.title)}
    with store.write() as connection:
        _refuse_taken(connection, TUNE, new.tune.title, record.id)
        words = query("SELECT uid, also, added_at, changed_at FROM tune WHERE id = :id")
        row = connection.execute(words, {"id": record.id}).one_or_none()
        if row is None or record.uid not in uids_of(row):
            raise NotFound(f"{record.title!r} was deleted meanwhile", f"See {NOUN.lists}.")
        values["changed_at"] = time_of_change(now, row.added_at, row.changed_at)
        connection.execute(change(TUNE.update(*values)), {**values, "id": record.id})


def columns_of(new: NewTune) -> dict[str, Any]:
    """Return what a row says of a tune, by column. Raises BadInput for a key without signature."""
    tune = new.tune
    return {
        "title": tune.title,
        "key": key_text(tune.key),
        "tempo": tune.tempo,
        "chart": chart_json(tune.chart),
        "form": form_text(tune.form),
        "tags": list(new.tags),
    }


def record_from(row: Any) -> TuneRecord:
    """Return the value of a row; raise ValueError where it holds no tune."""
    chart = chart_from(row.chart)
    try:
        key, form = parse_key(row.key), parse_form(row.form, len(chart.bars))
    except BadInput as problem:
        raise ValueError(problem.what) from problem
    tune = Tune(row.title, key, row.tempo, chart, form)
    return TuneRecord(row.id, row.uid, tune, tuple(row.tags), row.added_at)


def list_tunes(store: Store) -> list[TuneRecord]:
    """Return all tunes in the order in which they were added."""
    return list(each_tune(store)[1])


def each_tune(store: Store) -> tuple[list[str], Iterator[TuneRecord]]:
    """Return the titles of all tunes as ``list_tunes`` has them, and what reads one by one."""
    with store.read() as connection:
        rows = connection.execute(query(f"{TUNE.select()} ORDER BY id")).all()
    return [row.title for row in rows], map(record_from, rows)


def tune_titles(store: Store) -> list[str]:
    """Return the titles of all tunes, in the order in which they were added."""
    with store.read() as connection:
        return list(connection.execute(query("SELECT title FROM tune ORDER BY id")).scalars())


def name_tune(store: Store, text: str) -> Named:
    """Return which tune ``text`` names, as ``naming.find_row`` does; NotFound for none."""
    with store.read() as connection:
        words = query("SELECT id, uid, title, folded FROM tune ORDER BY id")
        row = find_row(connection.execute(words).all(), text, NOUN)
    return Named(row.id, row.uid, row.title)


def find_tune(store: Store, text: str) -> TuneRecord:
    """Return the tune that ``text`` names, as ``name_tune`` does; NotFound for none."""
    number = name_tune(store, text).id
    with store.read() as connection:
        found = connection.execute(query(f"{TUNE.select()} WHERE id = :id"), {"id": number}).one()
    return record_from(found)


def delete_tune(store: Store, tune: TuneRecord | Named, now: datetime) -> None:
    """Delete a tune, and take it out of every gig; no import brings it back."""
    with store.write() as connection:
        found = {"id": tune.id}
        words = query("SELECT uid, also FROM tune WHERE id = :id")
        row = connection.execute(words, found).one_or_none()
        if row is None or tune.uid not in uids_of(row):  # deleted in another window meanwhile
            return
        connection.execute(change("DELETE FROM gig_tune WHERE tune_id = :id"), found)
        connection.execute(change("DELETE FROM tune WHERE id = :id"), found)
        kept_away = [{"uid": uid, "at": now} for uid in sorted(uids_of(row))]
        connection.execute(change(DELETED_TUNE.insert()), kept_away)


GIG_NOUN = Noun("gig", "drillbox gig list", "drillbox gig add")


def add_gig(
    store: Store, title: str, day: date, tunes: Sequence[TuneRecord], now: datetime
) -> GigRecord:
    """Store a gig with its tunes in order.

    Raises BadInput where the name is taken, NotFound where a tune was deleted meanwhile.
    """
    uid = new_uid()
    with store.write() as connection:
        _refuse_deleted(connection, tunes)
        _refuse_taken(connection, GIG, title)
        values = {
            "uid": uid,
            "title": title,
            "folded": folded_title(title),
            "day": day,
            "added_at": now,
            "changed_at": None,
        }
        number = connection.execute(change(f"{GIG.insert()} RETURNING id"), values).scalar_one()
        set_tunes(connection, number, [each.id for each in tunes])
    return GigRecord(number, uid, title, day, now, tuple(tunes))


def change_gig(
    store: Store,
    gig: GigRecord,
    title: str,
    day: date,
    tunes: Sequence[TuneRecord],
    now: datetime,
) -> GigRecord:
    """Store a gig's name, day and tunes in place of what they were, and return it.

    ``now`` is kept as the time of the change, as for a tune. Raises BadInput where another has
    the name, NotFound where it or a tune was deleted meanwhile.
    """
    values: dict[str, Any] = {"title": title, "folded": folded_title(title), "day": day}
    with store.write() as connection:
        _refuse_deleted(connection, tunes)
        _refuse_taken(connection, GIG, title, gig.id)
        words = query("SELECT added_at, changed_at FROM gig WHERE id = :id AND uid = :uid")
        row = connection.execute(words, {"id": gig.id, "uid": gig.uid}).one_or_none()
        if row is None:
            raise NotFound(f"{gig.title!r} was deleted meanwhile", f"See {GIG_NOUN.lists}.")
        values["changed_at"] = time_of_change(now, row.added_at, row.changed_at)
        connection.execute(change(GIG.update(*values)), {**values, "id": gig.id})
        set_tunes(connection, gig.id, [each.id for each in tunes])
    return GigRecord(gig.id, gig.uid, title, day, gig.added_at, tuple(tunes))


def _refuse_deleted(connection: Connection, tunes: Sequence[TuneRecord]) -> None:
    """Raise NotFound where one of the tunes isn't there any more."""
    there = numbers_by_uid(connection.execute(query("SELECT id, uid, also FROM tune")).all())
    for tune in tunes:
        if there.get(tune.uid) != tune.id:
            raise NotFound(f"The tune {tune.title!r} was deleted meanwhile", f"See {NOUN.lists}.")


def set_tunes(connection: Connection, gig: int, tunes: Sequence[int]) -> None:
    """Give a gig these tunes in order, in place of those that it had; all by their numbers."""
    connection.execute(change("DELETE FROM gig_tune WHERE gig_id = :id"), {"id": gig})
    links = [
        {"gig_id": gig, "tune_id": tune, "position": position}
        for position, tune in enumerate(tunes)
    ]
    if links:
        connection.execute(change(GIG_TUNE.insert()), links)


def list_gigs(store: Store) -> list[GigRecord]:
    """Return all gigs by day, with their tunes."""
    with store.read() as connection:
        rows = connection.execute(query(f"{GIG.select()} ORDER BY day, id")).all()
        return [_gig_record(connection, row) for row in rows]


def find_gig(store: Store, text: str) -> GigRecord:
    """Return the gig that ``text`` names, as ``naming.find_row`` does; NotFound for none."""
    with store.read() as connection:
        return _gig_record(connection, _gig_row(connection, text))


def name_gig(store: Store, text: str) -> Named:
    """Return which gig ``text`` names, as ``find_gig`` does, whether or not its tunes can be
    read."""
    with store.read() as connection:
        row = _gig_row(connection, text)
    return Named(row.id, row.uid, row.title)


def _gig_row(connection: Connection, text: str) -> Any:
    rows = connection.execute(query(f"{GIG.select()} ORDER BY day, id")).all()
    return find_row(rows, text, GIG_NOUN)


def gigs_with(store: Store, tune: TuneRecord | Named) -> list[str]:
    """Return the names of the gigs that a tune is in, by day."""
    words = query(
        "SELECT title FROM gig JOIN gig_tune ON gig.id = gig_id WHERE tune_id = :id"
        " ORDER BY day, gig.id"
    )
    with store.read() as connection:
        return list(connection.execute(words, {"id": tune.id}).scalars())


_TUNES = f"""
SELECT {", ".join(f"tune.{name}" for name in TUNE.columns)}
FROM gig_tune JOIN tune ON tune.id = tune_id WHERE gig_id = :id ORDER BY position, tune.id
"""


def _gig_record(connection: Connection, row: Any) -> GigRecord:
    tunes = connection.execute(query(_TUNES), {"id": row.id}).all()
    return GigRecord(
        row.id,
        row.uid,
        row.title,
        row.day,
        row.added_at,
        tuple(record_from(each) for each in tunes),
    )


def delete_gig(store: Store, gig: GigRecord | Named, now: datetime) -> None:
    """Delete a gig; its tunes stay, and no import brings it back."""
    with store.write() as connection:
        found = {"id": gig.id, "uid": gig.uid}
        words = query("SELECT id FROM gig WHERE id = :id AND uid = :uid")
        if connection.execute(words, found).first() is None:  # deleted in another window meanwhile
            return
        connection.execute(change("DELETE FROM gig_tune WHERE gig_id = :id"), {"id": gig.id})
        connection.execute(change("DELETE FROM gig WHERE id = :id"), {"id": gig.id})
        connection.execute(change(DELETED_GIG.insert()), {"uid": gig.uid, "at": now})
