"""What was done to the store, as lines of plain text."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

from drillbox.output import counted

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from drillbox.practice.keeping import Checked, Exported
    from drillbox.store.files import Backup
    from drillbox.store.values import Merged

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
        return ["No backups yet. Make one with: drillbox store backup."]
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
            (merged.settings, "setting"),
            (merged.tunes, "tune"),
            (merged.gigs, "gig"),
        )
        if number
    ]
    lines = [f"Added {', '.join(added)}."] if added else []
    changed = [
        counted(number, what)
        for number, what in ((merged.changed, "phrase"), (merged.notes, "note"))
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
        f" drillbox retire {shlex.quote(title)} --back"
        for title in merged.deleted_there
    ]
    lines += [_unlike_line(*each) for each in list(merged.unlike.items())[:_NAMED]]
    if (more := len(merged.unlike) - _NAMED) > 0:
        differ = "differs" if more == 1 else "differ"
        lines.append(f"{counted(more, 'more tune')} {differ} there.")
    if merged.stayed_deleted:
        titles = ", ".join(repr(title) for title in merged.stayed_deleted[:5])
        more = len(merged.stayed_deleted) - 5
        named = titles + (f" and {more} more" if more > 0 else "")
        them = "it" if len(merged.stayed_deleted) == 1 else "them"
        lines.append(f"You deleted {named} here; to bring {them} back, import with --deleted.")
    return lines


def _unlike_line(title: str, columns: dict[str, tuple[Any, Any]]) -> str:
    """Say how a tune differs in the other store, and how to make this one alike."""
    said = ", ".join(
        f"{name} {here or 'none'} here, {there or 'none'} there"
        for name, (here, there) in columns.items()
    )
    alike = " ".join(f"--{name} {shlex.quote(str(there))}" for name, (_, there) in columns.items())
    return f"{title!r}: {said}. To take that: drillbox tune edit {shlex.quote(title)} {alike}"


_NAMED = 5
_SAID = {
    "title": "title", "key": "key", "tempo": "goal", "key_order": "order", "tags": "tags",
}  # fmt: skip
_ONLY_NAMED = {
    "chart": "another chart", "line": "another line", "aside": "other keys put aside",
}  # fmt: skip


def replaced_lines(merged: Merged) -> list[str]:
    """Return a line for each phrase that an import changed: what, and how to take it back.

    A merge takes a phrase whole from the store that changed it last, so that what was changed
    here before is named. Five are, and the rest counted.
    """
    lines = [
        f"{each.title!r}: {', '.join(map(_difference, each.columns, each.columns.values()))}."
        f" To undo: drillbox edit {shlex.quote(each.title)} --undo"
        for each in merged.replaced[:_NAMED]
    ]
    if (more := len(merged.replaced) - _NAMED) > 0:
        lines.append(f"{counted(more, 'more phrase')} changed; 'drillbox show' has each.")
    return lines


def _difference(column: str, values: tuple[Any, Any]) -> str:
    """Say what a column of a phrase was here, and what it is now."""
    if column in _ONLY_NAMED:
        return _ONLY_NAMED[column]
    if column == "double_time":
        return f"{'no longer' if values[0] else 'now'} in double time"
    here, now = (", ".join(each) if isinstance(each, list) else str(each) for each in values)
    return f"{_SAID[column]} {here or 'none'} here, now {now or 'none'}"
