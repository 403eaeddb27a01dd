"""What was done to the store, as lines of plain text."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

from drillbox.output import FEW, counted, some
from drillbox.store.naming import pasted

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date
    from typing import Any

    from drillbox.practice.keeping import Checked, Exported
    from drillbox.store.files import Backup
    from drillbox.store.values import Merged, Replaced

WHY = {
    "day": "a day's first change",
    "migration": "before a migration",
    "asked": "asked for",
    "edit": "before an edit",
    "deletion": "before a deletion",
    "import": "before an import",
}


def checked_lines(found: Checked, place: str) -> list[str]:
    """Return what a check found, one finding a line."""
    lines = [each.text for each in found.findings]
    if found.mended:
        lines.append(f"Recomputed {counted(found.mended, 'key')} from its ratings.")
    if not found.findings:
        return [*lines, f"Nothing is wrong with {place}."]
    if found.damaged:
        return lines
    if fixes := _fixes(found):
        lines.append(fixes if found.lost else f"Nothing is damaged. {fixes}")
    if found.lost and found.fault is None:
        on_server = "Ask whoever runs the server for a backup to get these back."
        of_file = "Restore a backup to get these back ('drillbox store list')."
        lines.append(on_server if "://" in place else of_file)
    return lines


def _fixes(found: Checked) -> str:
    """Return what becomes of the findings with ``--fix``, "" where it does nothing."""
    fixed = [
        *(
            ["makes the chords fill their bars"]
            if any(each.fits for each in found.findings)
            else []
        ),
        *(["cleans the tags"] if any(each.tags for each in found.findings) else []),
        *(["removes the settings"] if any(each.setting for each in found.findings) else []),
        *(["recomputes the keys"] if any(each.behind for each in found.findings) else []),
    ]
    if not fixed:
        return ""
    since = "A setting may have changed since. " if fixed == ["recomputes the keys"] else ""
    return f"{since}'drillbox store check --fix' makes a backup and {' and '.join(fixed)}."


def backup_lines(backups: Sequence[Backup], room: int) -> list[str]:
    """Return the backups, newest first, with time, size and reason; ``room`` is in megabytes."""
    if not backups:
        return ["No backups yet. Make one with: drillbox store backup"]
    lines = [
        f"{each.path.name}  {each.at:%Y-%m-%d %H:%M} UTC  {each.size / 1024:,.0f} KB  "
        f"{WHY.get(each.reason, each.reason)}"
        for each in backups
    ]
    size = sum(each.size for each in backups) / 10**6
    return [
        *lines,
        f"Together {size:,.1f} of at most {room:,} MB: the oldest go first, those that you asked "
        "for stay ('drillbox settings backup_room').",
    ]


def exported_lines(done: Exported) -> list[str]:
    """Return what was exported and where to."""
    what = f"{counted(done.phrases, 'phrase')} and {counted(done.attempts, 'go')}"
    lines = [f"Wrote {what} to:", *(f"  {path}" for path in done.files)]
    lines += [
        f"ABC can't hold the line of {title!r}; its chart is there." for title in done.unwritten
    ]
    return lines


def merged_lines(merged: Merged) -> list[str]:
    """Return what an import added."""
    besides = _said_besides(merged)
    if merged.nothing:
        said = (
            "Nothing was changed."
            if besides
            else "Your store has all of it already; nothing was changed."
        )
        return [said, *besides]
    added = [
        counted(number, what)
        for number, what in (
            (merged.phrases, "phrase"),
            (merged.sessions, "drill session"),
            (merged.attempts, "go"),
            (merged.tunes, "tune"),
            (merged.gigs, "gig"),
        )
        if number
    ]
    lines = [f"Added {', '.join(added)}."] if added else []
    changed = [
        counted(number, what)
        for number, what in (
            (merged.changed, "phrase"),
            (merged.notes, "note"),
            (len(merged.retuned), "tune"),
            (len(merged.replanned), "gig"),
            (len(merged.settings), "setting"),
        )
        if number
    ]
    if changed:
        lines.append(f"Brought up to date: {', '.join(changed)}.")
    if merged.undone:
        count = "counts" if merged.undone == 1 else "count"
        lines.append(f"{counted(merged.undone, 'go')} undone elsewhere no longer {count}.")
    lines += [
        f"{old!r} is here {new!r}: the title was taken." for old, new in merged.renamed.items()
    ]
    lines += [
        f"{old!r} and {new!r} are the same in the other store; both are {new!r} now."
        for old, new in merged.joined.items()
    ]
    return lines + besides


def _said_besides(merged: Merged) -> list[str]:
    """Return what wasn't brought in, or only in part, and why."""
    lines = [f"The setting {name!r} can't be used and was left out." for name in merged.left_out]
    lines += [
        f"{title!r} was deleted in the other store and is retired here. To bring it back:"
        f" drillbox retire {pasted(title)} --back"
        for title in merged.deleted_there
    ]
    if merged.stayed_deleted:
        named = _some(merged.stayed_deleted)
        them = "it" if len(merged.stayed_deleted) == 1 else "them"
        lines.append(f"You deleted {named} here; to bring {them} back, import with --deleted.")
    return lines


def _some(titles: Sequence[str]) -> str:
    """Name a few of these titles, and count the rest."""
    return some([repr(each) for each in titles])


_SAID = {
    "title": "title", "key": "key", "tempo": "goal", "key_order": "order", "tags": "tags",
}  # fmt: skip
_SAID_OF_TUNES = {**_SAID, "tempo": "tempo", "form": "form"}
_SAID_OF_GIGS = {"title": "name", "day": "date"}
# What 'tune edit' and 'gig edit' take, by column.
_TYPED_OF_TUNES = {each: f"--{each}" for each in ("title", "key", "tempo", "form")}
_TYPED_OF_GIGS = {"title": "--name", "day": "--date", "tunes": "--tunes"}
_ONLY_NAMED = {
    "chart": "another chart", "line": "another line", "aside": "other keys put aside",
    "keys": "its keys in another order",
}  # fmt: skip


def replaced_lines(merged: Merged, today: date) -> list[str]:
    """Return what an import changed here: what it was, what it is, and how to take it back.

    A merge takes a phrase, a tune or a gig whole from the store that changed it last, so that what
    was changed here before is named. Of each kind a few are, and the rest counted.
    """
    return [
        *_first(
            [
                f"{each.title!r}: {_differences(each.columns, _SAID)}."
                f" To undo: drillbox edit {pasted(each.title)} --undo"
                for each in merged.replaced
            ],
            "phrase",
            "drillbox show",
        ),
        *_first([_retuned_line(each) for each in merged.retuned], "tune", "drillbox tune show"),
        *_first(
            [_replanned_line(each, today) for each in merged.replanned], "gig", "drillbox gig list"
        ),
        *_retirement_lines(merged),
        *_first([_noted_line(*each) for each in merged.noted], "note", "drillbox show"),
        *_first(
            [_set_line(name, *both) for name, both in merged.settings.items() if _differ(*both)],
            "setting",
            "drillbox settings",
        ),
    ]


def _first(lines: Sequence[str], noun: str, command: str) -> list[str]:
    """Return the first of these lines, and one that counts the rest."""
    more = len(lines) - FEW
    rest = [f"{counted(more, f'more {noun}')} changed; '{command}' has each."] if more > 0 else []
    return [*lines[:FEW], *rest]


def _retuned_line(tune: Replaced) -> str:
    """Say how a tune was changed, and what to type to have it as it was."""
    back = _back(tune, "drillbox tune edit", _typed_of_tune(tune.columns))
    return f"{tune.title!r}: {_differences(tune.columns, _SAID_OF_TUNES)}.{back}"


def _replanned_line(gig: Replaced, today: date) -> str:
    """Say how a gig was changed, and what to type to have it as it was, but for a day that is
    over."""
    day, _ = gig.columns.get("day", (today, today))
    typed = {each: _TYPED_OF_GIGS[each] for each in _TYPED_OF_GIGS if each != "day" or day >= today}
    back = _back(gig, "drillbox gig edit", _typed(gig.columns, typed))
    return f"{gig.title!r}: {_differences(gig.columns, _SAID_OF_GIGS)}.{back}"


def _back(thing: Replaced, command: str, typed: Sequence[str]) -> str:
    """Return the sentence that says what to type to have a thing as it was, "" for nothing."""
    if not typed:
        return ""
    return f" To have it back: {command} {pasted(thing.title)} {shlex.join(typed)}"


def _typed(columns: Mapping[str, tuple[Any, Any]], names: Mapping[str, str]) -> list[str]:
    """Return the options by these names that bring back what some columns were."""
    return [
        word
        for name, (here, _) in columns.items()
        if name in names and here != []  # a gig had no tunes left: none can be typed
        for word in (names[name], _text(here))
    ]


def _typed_of_tune(columns: Mapping[str, tuple[Any, Any]]) -> list[str]:
    """Return the options that bring back what of a tune was changed.

    A chart whose chords change off the beat can't be typed; its key and form go with it.
    """
    names = _TYPED_OF_TUNES
    chart = _typed_chart(*columns["chart"]) if "chart" in columns else []
    if "chart" in columns and not chart:
        names = {each: names[each] for each in ("title", "tempo")}
    words = _typed(columns, names) + chart
    tags, others = map(_tags, columns.get("tags", ([], [])))
    for option, found, lacking in (("--tag", tags, others), ("--untag", others, tags)):
        words += [word for tag in found if tag not in lacking for word in (option, tag)]
    return [*words, "--concert"] if {"--key", "--chart"} & set(words) else words


def _tags(value: Any) -> list[str]:
    """Return the tags of a column, without what is none: it may have been damaged here."""
    return [each for each in value if isinstance(each, str)] if isinstance(value, list) else []


def _typed_chart(here: Any, now: Any) -> list[str]:
    """Return the options that bring a tune's chart back, none where it can't be typed or read."""
    from drillbox.music.charts import chart_from  # where an import changed one
    from drillbox.music.symbols.printed import chart_text
    from drillbox.music.symbols.typed import parse_chart
    from drillbox.music.tunes import MOST_BARS
    from drillbox.store.access import ILLEGIBLE

    try:
        was = chart_from(here)
        text = chart_text(was)
        if parse_chart(text, was.meter, most=MOST_BARS) != was:
            return []
    except ILLEGIBLE:  # it may have been damaged here
        return []
    meter = was.meter.text()
    return ["--chart", text, *(["--meter", meter] if was.meter != chart_from(now).meter else [])]


def _text(value: Any) -> str:
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def _retirement_lines(merged: Merged) -> list[str]:
    """Say which phrases are out of the player's drills now, and which are in them again."""
    lines = []
    if merged.retired:
        lines.append(
            f"Retired there, and now here: {_some(merged.retired)}."
            " To bring one back: drillbox retire PHRASE --back"
        )
    if merged.restored:
        lines.append(f"Brought back there, and now here: {_some(merged.restored)}.")
    return lines


def _noted_line(title: str, here: str, now: str | None) -> str:
    """Say what a note was, and what it is."""
    return f"{title!r}: a note was {here!r:.80}, now {f'{now!r:.80}' if now else 'none'}."


def _differ(here: Any, now: Any) -> bool:
    """Return whether a setting is another now; of the memory model's weights it isn't known."""
    return here is None or here != now


def _set_line(name: str, here: Any, now: Any) -> str:
    """Say what a setting was, and what it is."""
    if here is None:
        return f"{name}: those of the other store."
    return f"{name}: {here if here != '' else 'empty'} here, now {now if now != '' else 'empty'}."


def _differences(columns: dict[str, tuple[Any, Any]], said: Mapping[str, str]) -> str:
    return ", ".join(_difference(name, both, said) for name, both in columns.items())


def _difference(column: str, values: tuple[Any, Any], said: Mapping[str, str]) -> str:
    """Say what a column of a phrase, a tune or a gig was here, and what it is now."""
    if column in _ONLY_NAMED:
        return _ONLY_NAMED[column]
    if column == "double_time":
        return f"{'no longer' if values[0] else 'now'} in double time"
    if column == "octave_breaks":
        return f"octaves {'kept' if values[0] else 'broken'} now"
    if column == "tunes":
        return _tunes_changed(*values)
    here, now = map(_text, values)
    return f"{said[column]} {here or 'none'} here, now {now or 'none'}"


def _tunes_changed(here: list[str], now: list[str]) -> str:
    """Say which of its tunes a gig lost and got, or that only their order is another."""
    lost = [each for each in here if each not in now]
    got = [each for each in now if each not in here]
    said = [f"without {_some(lost)}"] if lost else []
    said += [f"with {_some(got)}"] if got else []
    return f"now {' and '.join(said)}" if said else "its tunes in another order"
