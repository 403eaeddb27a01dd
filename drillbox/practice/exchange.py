"""Write the whole log in open formats, and bring such an export or another store back in."""

from __future__ import annotations

import csv
import io
import json
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from drillbox.errors import BadInput, NotFound
from drillbox.memory.rules import Rules
from drillbox.music.codec import chart_from, line_from
from drillbox.music.keys import parse_key
from drillbox.music.phrases import Phrase
from drillbox.output import one_line
from drillbox.practice.files import refuse_unplain, write_whole
from drillbox.store.documents import document
from drillbox.store.litter import copies
from drillbox.store.merging import Merged, merge
from drillbox.store.opening import FileStore, Store, open_store
from drillbox.store.places import real
from drillbox.store.sqlite import HEADER

__all__ = ["Exported", "Merged", "export_store", "import_export"]

JSON_NAME, CSV_NAME, ABC_NAME = "drillbox.json", "attempts.csv", "phrases.abc"
SCHEMA_NAME = "drillbox.schema.json"
COLUMNS = (
    "at", "zone", "day", "phrase", "key", "recall", "tempo", "goal", "hint", "seconds", "loops",
    "in_round", "due_after", "undone_at", "uid",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Exported:
    """What was written, and where. ``unwritten`` names phrases whose line ABC can't hold."""

    files: tuple[Path, ...]
    phrases: int
    attempts: int
    unwritten: tuple[str, ...] = ()


def export_store(store: Store, to: Path, write_abc: Callable[[Phrase], str]) -> Exported:
    """Write the store to a file (JSON) or, where ``to`` doesn't end in .json, to a folder.

    The folder gets JSON and its schema, a CSV of attempts and an ABC of phrases. The same
    store gives the same bytes. A former export is replaced, anything else is left alone:
    raises BadInput where another file is in the way or it can't be written.
    """
    data = document(store)
    unwritten: list[str] = []
    contents = {to: _json(data)}
    if to.suffix.lower() != ".json":
        contents = {
            to / JSON_NAME: _json(data),
            to / SCHEMA_NAME: schema(),
            to / CSV_NAME: attempts_csv(data),
            to / ABC_NAME: phrases_abc(data, write_abc, unwritten),
        }
    for path in contents:
        _refuse_others(path)
    try:
        for path, content in contents.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(path, content.encode(), private=True)
    except OSError as problem:
        raise BadInput(
            f"Can't write to {str(to)!r}: {problem.strerror}", "Name another place."
        ) from problem
    return Exported(tuple(contents), len(data["phrases"]), len(data["attempts"]), tuple(unwritten))


def _json(data: Mapping[str, Any]) -> str:
    return json.dumps(data, ensure_ascii=False, indent=1) + "\n"


def schema() -> str:
    """Return the JSON Schema of an export, as text."""
    import drillbox.store  # only for where it lies

    folder = Path(drillbox.store.__file__).parent
    return (folder / "exchange.schema.json").read_text(encoding="utf-8")


_FIRST = {JSON_NAME: '{\n "format": "drillbox"', CSV_NAME: ",".join(COLUMNS), ABC_NAME: "%abc-2.1"}


def _refuse_others(path: Path) -> None:
    """Raise BadInput if something else than a former export is at ``path``."""
    refuse_unplain(path)
    if not path.exists():
        return
    expected = _FIRST.get(path.name, _FIRST[JSON_NAME])
    if path.name == SCHEMA_NAME:
        expected = "{"
    try:
        with path.open(encoding="utf-8", errors="replace") as file:
            former = file.read(len(expected)) == expected
    except OSError:
        former = False
    if not former:
        raise BadInput(f"{str(path)!r} is there already, and no export", "Name another place.")


def attempts_csv(data: Mapping[str, Any]) -> str:
    """Return every attempt as one line of CSV (RFC 4180), undone ones too, with a header.

    Text that a spreadsheet would take for a formula gets an apostrophe in front.
    """
    phrases = {each["uid"]: each for each in data["phrases"]}
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    for each in data["attempts"]:
        phrase = phrases[each["phrase"]]
        values = {**each, "phrase": phrase["title"], "goal": phrase["tempo"]}
        writer.writerow([_harmless(values[name]) for name in COLUMNS])
    return text.getvalue()


# What spreadsheets take for the beginning of a formula, in any width that Unicode has.
_FORMULA = frozenset("=+-@|%\u2212")
_UNSEEN = frozenset("\u115f\u1160\u3164\uffa0\u2800")  # letters and signs that show nothing


def _harmless(value: object) -> object:
    if not isinstance(value, str):
        return value
    text = one_line(value)
    for character in text:
        # Past what isn't seen before it: blanks, marks without a letter, fillers.
        if character not in _UNSEEN and unicodedata.category(character)[0] not in "ZMC":
            first = unicodedata.normalize("NFKC", character)[0]
            return f"'{text}" if first in _FORMULA else text
    return text


def phrases_abc(
    data: Mapping[str, Any], write_abc: Callable[[Phrase], str], unwritten: list[str]
) -> str:
    """Return every phrase as a tune of one ABC 2.1 file, numbered from 1.

    A phrase whose line ABC can't hold is written without it; its title goes to ``unwritten``.
    """
    tunes = ["%abc-2.1\n"]
    for number, each in enumerate(data["phrases"], start=1):
        phrase = Phrase(
            each["title"],
            parse_key(each["key"]),
            each["tempo"],
            chart_from(each["chart"]),
            line_from(each["line"]),
            each["double_time"],
        )
        try:
            tune = write_abc(phrase)
        except BadInput:
            unwritten.append(phrase.title)
            tune = write_abc(Phrase(phrase.title, phrase.key, phrase.tempo, phrase.chart))
        tunes.append(tune.replace("X:1\n", f"X:{number}\n", 1))
    return "\n".join(tunes)


def import_export(store: Store, source: Path, rules: Rules, now: datetime) -> Merged:
    """Merge an export (its file or folder) or another store into this one; see ``merge``.

    Raises NotFound if there is no such thing, BadInput if it is something else, StoreFailure
    if the other store can't be read.
    """
    path = real(source / JSON_NAME if source.is_dir() else source)
    if not path.is_file():
        raise NotFound(f"There is no export {str(source)!r}", "Check the name and the folder.")
    # Never opened by a second handle: closing that would drop this process's locks on it.
    if isinstance(store, FileStore) and path.samefile(store.place):
        raise BadInput(f"{str(path)!r} is the store itself", "Name another store, or an export.")
    try:
        with path.open("rb") as file:
            is_store = file.read(len(HEADER)) == HEADER
        data = _of_store(path, now) if is_store else json.loads(path.read_text("utf-8"))
    except OSError as problem:
        raise BadInput(
            f"Can't read {str(path)!r}: {problem.strerror}", "Check the file."
        ) from problem
    except (ValueError, RecursionError) as problem:
        raise BadInput(
            f"{str(path)!r} is no export of drillbox ({problem})",
            "Give one that was written by: drillbox store export.",
        ) from problem
    return merge(store, data, rules)


def _of_store(path: Path, now: datetime) -> dict[str, Any]:
    """Return another store as a document; a copy is migrated if need be, never the store."""
    from drillbox.store.backups import fault_in  # only where a store is given
    from drillbox.store.restoring import copy_store

    if found := fault_in(path):
        raise BadInput(
            f"{str(path)!r} is no drillbox store, or a damaged one ({found})",
            "Give a store that opens, or an export of it.",
        )
    with copies() as folder:
        copy = folder / "store.sqlite3"
        copy_store(path, copy, now)
        with open_store(copy, now=now, backups=False) as other:
            return document(other)
