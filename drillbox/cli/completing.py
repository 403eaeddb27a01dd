"""Shell completion: what Tab offers, and the one command that installs it."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

import typer

from drillbox.errors import BadInput
from drillbox.output import drawing, harmless

SHELLS = ("bash", "zsh", "fish")
COMPLETING = "_DRILLBOX_COMPLETE"
"""Set by a shell's script while it asks what may come next."""


def phrase_titles(ctx: typer.Context, incomplete: str) -> list[str]:
    """Offer the titles of phrases in practice."""
    return _titles(ctx, "phrase", incomplete)


def known_titles(ctx: typer.Context, incomplete: str) -> list[str]:
    """Offer the titles of phrases in practice, or of retired ones where none begins so."""
    return phrase_titles(ctx, incomplete) or _titles(ctx, "phrase", incomplete, retired=True)


def titles_to_retire(ctx: typer.Context, incomplete: str) -> list[str]:
    """Offer the titles of phrases that can be retired or, with --back, brought back."""
    return _titles(ctx, "phrase", incomplete, retired=bool(ctx.params.get("back")))


def tune_titles(ctx: typer.Context, incomplete: str) -> list[str]:
    """Offer the titles of tunes."""
    return _titles(ctx, "tune", incomplete)


def gig_titles(ctx: typer.Context, incomplete: str) -> list[str]:
    """Offer the names of gigs."""
    return _titles(ctx, "gig", incomplete)


def phrase_tags(ctx: typer.Context, incomplete: str) -> list[str]:
    """Offer the tags of phrases."""
    return _tags(ctx, "phrase", incomplete)


def tune_tags(ctx: typer.Context, incomplete: str) -> list[str]:
    """Offer the tags of tunes."""
    return _tags(ctx, "tune", incomplete)


def key_names(incomplete: str) -> list[str]:
    """Offer the names of keys."""
    from drillbox.music.keys import MAJOR, MINOR

    return offered([key.text() for key in (*MAJOR, *MINOR)], incomplete)


def setting_names(incomplete: str) -> list[str]:
    """Offer the names of settings."""
    from drillbox.practice.settings import PREFERENCES

    return offered(PREFERENCES, incomplete)


def setting_values(ctx: typer.Context, incomplete: str) -> list[str]:
    """Offer what the setting that was named may be, where that is one of a few names."""
    if ctx.params.get("name") == "pedal":
        from drillbox.practice.settings import PEDALS

        both = (f"{left} {right}" for left in PEDALS for right in PEDALS)
        return offered(("off", *both), incomplete)
    return _choices(ctx.params.get("name"), incomplete)


def backing_names(incomplete: str) -> list[str]:
    """Offer what may be played under the beat."""
    return _choices("backing", incomplete)


def click_names(incomplete: str) -> list[str]:
    """Offer the beats that may be clicked in a loop."""
    return [*_choices("click_beats", incomplete), *offered(("off",), incomplete)]


def turnaround_words(incomplete: str) -> list[str]:
    """Offer what may become of a turnaround; chords are typed."""
    return offered(("take", "decline"), incomplete)


def listening_names(incomplete: str) -> list[str]:
    """Offer what can be listened to."""
    return _choices("listen", incomplete)


def _choices(name: str | None, incomplete: str) -> list[str]:
    from drillbox.practice.settings import PREFERENCES

    setting = PREFERENCES.get(name or "")
    return offered(setting.choices, incomplete) if setting else []


def order_names(incomplete: str) -> list[str]:
    """Offer the orders of keys."""
    from drillbox.music.keys import ORDERS

    return offered(ORDERS, incomplete)


def sort_names(incomplete: str) -> list[str]:
    """Offer the orders of a list of phrases."""
    return offered(("title", "weakest", "tempo", "due"), incomplete)


def shell_names(incomplete: str) -> list[str]:
    """Offer the shells there is completion for."""
    return offered(SHELLS, incomplete)


def _titles(ctx: typer.Context, table: str, incomplete: str, *, retired: bool = False) -> list[str]:
    from drillbox.store.glance import titles_in

    place = _place(ctx)
    return offered(titles_in(place, table, retired=retired), incomplete) if place else []


def _tags(ctx: typer.Context, table: str, incomplete: str) -> list[str]:
    from drillbox.store.glance import tags_in

    place = _place(ctx)
    return offered(tags_in(place, table), incomplete) if place else []


def _place(ctx: typer.Context) -> Path | None:
    from drillbox.store.glance import place_of

    before = ctx.find_root().params
    if before.get("demo"):
        return None  # made new each day, by a drill; Tab shouldn't make it
    return place_of(before.get("store"))


def offered(words: Iterable[str], incomplete: str) -> list[str]:
    """Return the words that begin as what was typed, whatever its case.

    Each begins with just that, as a shell puts nothing in the place of what doesn't.
    """
    size, begun = len(incomplete), incomplete.casefold()
    return [
        incomplete + each[size:] for each in map(harmless, words) if each[:size].casefold() == begun
    ]


def quoted(word: str) -> str:
    """Return a word as bash would have it typed, within the quotes that were begun, if any.

    bash closes these; fish quotes by itself.
    """
    typed = os.environ.get("COMP_WORDS", "")
    if typed.count('"') % 2:
        return re.sub(r'([$`"\\])', r"\\\1", word)
    if typed.count("'") % 2:
        return word.replace("'", r"'\''")
    return re.sub(r"([^\w@%+=:,./-])", r"\\\1", word)


def quoted_for_zsh(value: str, help: str | None) -> str:
    """Return a word with its description as zsh takes them from typer's script.

    That evaluates each word twice: a title, which may come from anyone's file, must be
    text to it and no more. From within: ``_describe`` wants colons marked, the second evaluation
    and ``_arguments`` take a backslash away each, and the first reads a quoted string.
    """
    word = re.sub(r"([\\:])", r"\\\1", value)
    parts = [re.sub(r"(\W)", r"\\\1", part) for part in (word, help) if part]
    return r"\:".join(parts).replace("'", r"'\''")


def completion(
    shell: Annotated[
        str | None,
        typer.Argument(
            metavar="SHELL",
            help="bash, zsh or fish; without it, yours.",
            autocompletion=shell_names,
        ),
    ] = None,
    show: Annotated[
        bool, typer.Option("--show", help="Print the script and install nothing.")
    ] = False,
) -> None:
    """Let Tab complete commands, titles, keys, tags and settings."""
    from typer._completion_shared import get_completion_script, install

    wanted = shell or Path(os.environ.get("SHELL", "")).name
    if wanted not in SHELLS:
        raise BadInput(
            f"There is no completion for {wanted[:20]!r}" if wanted else "Your shell isn't known",
            f"Name one of {', '.join(SHELLS)}, as in: drillbox completion bash",
        )
    if show:
        print(get_completion_script(prog_name="drillbox", complete_var=COMPLETING, shell=wanted))
        return
    try:
        _, place = install(shell=wanted, prog_name="drillbox", complete_var=COMPLETING)
        if wanted == "zsh":  # which runs the file at the first Tab: it has to answer that one, too
            place.write_text(f'{place.read_text()}\n_drillbox_completion "$@"\n')
    except OSError as problem:
        raise BadInput(
            f"The completion can't be written: {problem.strerror} ({problem.filename})",
            f"Put it where your shell looks: drillbox completion {wanted} --show",
        ) from None
    print(f"Completion for {wanted} is installed in {place}; it works in the next terminal.")


def offer_completion() -> None:
    """Let the application answer shells that ask what may come next."""
    from typer._click.shell_completion import CompletionItem, add_completion_class
    from typer._completion_classes import (
        BashComplete,
        FishComplete,
        ZshComplete,
        completion_init,
    )

    class Bash(BashComplete):
        def format_completion(self, item: CompletionItem) -> str:
            return quoted(str(item.value))

    class Zsh(ZshComplete):
        def format_completion(self, item: CompletionItem) -> str:
            return quoted_for_zsh(str(item.value), item.help)

    class Fish(FishComplete):
        def complete(self) -> str:
            found = super().complete()
            drawing(sys.stdout).write(f"{found}\n")  # a tab stands before each description
            sys.exit(0)

    completion_init()
    for shell in (Bash, Zsh, Fish):
        add_completion_class(shell, shell.name)


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("completion")(completion)
