"""What every command shares: the options before it, which store, the time, the look, Ctrl-C."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.errors import BadInput, DrillboxError, StoreFailure
from drillbox.output import broken, drawing, tell

if TYPE_CHECKING:
    from rich.console import Console, RenderableType
    from rich.progress import Progress

    from drillbox.practice.preferences import Preferences
    from drillbox.screen.look import Look
    from drillbox.store.access import Store
    from drillbox.terminal.about import Terminal

PATIENCE = 1.0  # seconds that need no words


@contextmanager
def waiting(what: str) -> Iterator[Callable[[int, int], None]]:
    """Yield a function that shows on a terminal how much of the work is done.

    Where standard error is none, a line every ten seconds says that work goes on.
    """
    shown = _Shown(what)
    try:
        yield shown.tick
    finally:
        shown.close()


class _Shown:
    def __init__(self, what: str) -> None:
        self._what = what
        self._next = time.monotonic() + PATIENCE
        self._bar: Progress | None = None

    def tick(self, done: int, of: int) -> None:
        if time.monotonic() < self._next:
            return
        if sys.stderr.isatty():
            self._next = time.monotonic() + 0.1
            self._draw(done, of)
        else:
            self._next = time.monotonic() + 10
            print(f"{self._what}: {100 * done // max(1, of)}%", file=sys.stderr)

    def _draw(self, done: int, of: int) -> None:
        if self._bar is None:
            from rich.console import Console  # only for those who wait
            from rich.progress import Progress

            # Drawn by hand: a separate thread would draw beside what is printed.
            console = Console(file=drawing(sys.stderr))
            self._bar = Progress(console=console, auto_refresh=False, transient=True)
            self._bar.start()
            self._bar.add_task(self._what)
        self._bar.update(self._bar.task_ids[0], completed=done, total=max(1, of))
        self._bar.refresh()

    def close(self) -> None:
        """Take the bar away."""
        if self._bar is not None:
            self._bar.stop()


def clock() -> datetime:
    """Return the time, aware and in UTC; DRILLBOX_NOW stands in for it where it is set."""
    from drillbox.store.values import FIRST_YEAR, LAST_YEAR  # what uses the time loads it anyway

    fixed = os.environ.get("DRILLBOX_NOW")
    try:
        at = datetime.fromisoformat(fixed) if fixed else datetime.now(UTC)
    except ValueError:
        raise BadInput(f"DRILLBOX_NOW is {fixed!r}", "Write it as 2026-03-01T18:00:00Z") from None
    if not FIRST_YEAR < at.year < LAST_YEAR:  # so it is in every zone
        where = "DRILLBOX_NOW is" if fixed else "This computer's clock says"
        years = f"from {FIRST_YEAR + 1} to {LAST_YEAR - 1}"
        raise BadInput(f"{where} {fixed or f'{at:%Y-%m-%d}'!r}", f"Set it to a year {years}.")
    return at.astimezone(UTC) if at.tzinfo else at.replace(tzinfo=UTC)


@dataclass(frozen=True)
class Asked:
    """The options that stand before every command."""

    location: str | None
    demo: bool
    ascii: bool
    plain: bool

    @cached_property
    def terminal(self) -> Terminal:
        """Return what the terminal is and can show."""
        from drillbox.terminal.about import terminal_facts

        return terminal_facts(sys.stdin, sys.stdout)

    @cached_property
    def look(self) -> Look:
        """Return how screens may look there."""
        from drillbox.screen.look import Look

        terminal = self.terminal
        return Look(
            width=terminal.width,
            height=terminal.height,
            ascii=self.ascii or not terminal.unicode,
            plain=self.plain or terminal.dumb,
        )

    @cached_property
    def console(self) -> Console:
        """Return the console that screens are printed on."""
        from drillbox.screen.look import HarmlessConsole

        return HarmlessConsole(
            file=drawing(sys.stdout),
            width=self.look.width,
            height=self.look.height,
            no_color=not self.terminal.colour,
            highlight=False,
            markup=False,
            emoji=False,
            legacy_windows=False,
        )

    def measure(self) -> None:
        """Measure the terminal again, as after the window changed."""
        for name in ("terminal", "look", "console"):
            self.__dict__.pop(name, None)

    def show(self, screen: RenderableType) -> None:
        """Print one screen on standard output."""
        self.console.print(screen, soft_wrap=self.look.plain)

    def say(self, line: str) -> None:
        """Print a line of text; a terminal has it broken between words."""
        text = self.cleaned(line)
        print(text if self.look.plain else broken(text, self.look.width), flush=True)

    def cleaned(self, text: str) -> str:
        """Return a player's text as this terminal can show it."""
        from drillbox.screen.look import clean

        return clean(text, ascii=self.look.ascii)

    @contextmanager
    def opened(self) -> Iterator[tuple[Store, Preferences]]:
        """Open the store that was asked for and read the player's settings from it."""
        from drillbox.practice.preferences import preferences_from
        from drillbox.store.opening import open_store
        from drillbox.store.setting_rows import get_settings

        with waiting("Bringing it up to date") as tick:
            store = open_store(self.place(), now=clock(), tell=warn, tick=tick)
        with store, _readable(store):
            preferences = preferences_from(get_settings(store))
            for name, value in preferences.left_out.items():
                warn(
                    f"The stored setting {name!r} can't be used: {value}. Its default holds;"
                    " to remove it: drillbox store check --fix"
                )
            yield store, preferences
            if store.backup_failure:
                warn(f"Stored; but the day's backup failed: {store.backup_failure.line()}")
            all_is_done()  # but closing the store, which may be cut off
        break_off()  # what a command does without the store can be tidied up again

    def defaults(self) -> Preferences:
        """Return the settings of a player who has set none."""
        from drillbox.practice.preferences import preferences_from

        return preferences_from({})

    def store_exists(self) -> bool:
        """Return whether there is a store already where one was asked for."""
        place = self.place()
        from drillbox.store.files import looking_at

        with looking_at(place):
            return "://" in str(place) or Path(place).exists()

    def place(self) -> Path | str:
        """Return where the store lies: the demo's, the one named, or the platform's."""
        from drillbox.store.files import default_location, looking_at, real_path

        if self.demo:
            return self._demo_place()
        named = self.location or os.environ.get("DRILLBOX_STORE")
        if not named:
            return default_location()
        if "://" in named:
            return named
        folder = real_path(named).parent
        with looking_at(folder):
            there = folder.is_dir()
        if not there:
            said = "--store" if self.location else "DRILLBOX_STORE"
            raise StoreFailure(f"There is no folder {folder}", f"Make it first, or check {said}.")
        return named

    def _demo_place(self) -> Path:
        from drillbox.practice.demo import demo_store

        with waiting("Inventing the demo's past") as tick:
            return demo_store(clock(), tell, tick=tick)


@contextmanager
def _readable(store: Store) -> Iterator[None]:
    """Report a store that can't be read where reading it fails; let our own faults through.

    Those of the system as well: the store's own are told as such already, and another's, as of
    a pager that was left, say nothing of the store.
    """
    try:
        yield
    except (DrillboxError, OSError):
        raise
    except Exception as problem:
        from drillbox.practice.keeping import fault_of  # only where something is wrong

        if said := fault_of(store):
            raise said from problem
        raise


def break_off() -> None:
    """Let the first Ctrl-C raise KeyboardInterrupt, so that a command can tidy up.

    A second ends it at once. Does nothing where ``end_at_once`` wasn't called. In a drill the
    keyboard takes it as a press instead.
    """
    if signal.getsignal(signal.SIGINT) == signal.SIG_DFL:
        signal.signal(signal.SIGINT, _first)


def _first(number: int, _: FrameType | None) -> None:
    signal.signal(number, signal.SIG_DFL)
    raise KeyboardInterrupt


def all_is_done() -> None:
    """Let Ctrl-C end the program at once again, where ``break_off`` was called."""
    if signal.getsignal(signal.SIGINT) == _first:
        signal.signal(signal.SIGINT, signal.SIG_DFL)


def _version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        print(f"drillbox {version('drillbox')}")
        raise typer.Exit


def before_commands(
    ctx: typer.Context,
    store: Annotated[
        str | None,
        typer.Option(metavar="PATH", help="Use this store instead of DRILLBOX_STORE or your own."),
    ] = None,
    demo: Annotated[
        bool, typer.Option("--demo", help="Use invented data in a temporary place.")
    ] = False,
    ascii: Annotated[bool, typer.Option("--ascii", help="Write b and # for flat and sharp.")] = (
        False
    ),
    plain: Annotated[bool, typer.Option("--plain", help="Plain text, one line at a time.")] = False,
    _: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None:
    """Keep the options that stand before the command; alone, show the help."""
    break_off()
    if store is not None and not store.strip():
        raise BadInput("--store names no file", "Name one, or leave it out.")
    if store is not None and demo:
        raise BadInput("Both --demo and --store were given", "Use one or the other.")
    ctx.obj = Asked(store, demo, ascii, plain)
    if ctx.invoked_subcommand is None:
        print(ctx.get_help())


def warn(line: str) -> None:
    """Tell the player something besides what the command prints, on stderr."""
    tell(f"drillbox: {line}")


def asked(ctx: typer.Context) -> Asked:
    """Return the options that stood before the command."""
    found = ctx.obj
    assert isinstance(found, Asked)  # set by the app's callback before any command runs
    return found
