"""Parse a command, call one use-case, show the result, exit with a code.

The command line is one typer application. Making all of its commands takes a tenth of the time to
a drill's first screen, so that where a command is asked for, its module's alone are made.
"""

from __future__ import annotations

import errno
import gc
import io
import os
import signal
import sys
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typer.core import TyperGroup

OVERVIEW = """Keep your lines alive in all twelve keys.

Bring a phrase in with 'add', play what 'drill' shows and rate it with one press,
see what is weak with 'summary'.
"""

# The modules of commands, in the order of their help, and the commands of each.
MODULES = {
    "commands.add": ("add",),
    "commands.drill": ("drill",),
    "commands.round": ("round",),
    "commands.loop": ("loop",),
    "commands.listen": ("listen",),
    "commands.summary": ("summary", "progress", "upcoming", "report"),
    "commands.phrases": ("phrases", "show", "retire"),
    "commands.edit": ("edit", "delete"),
    "commands.settings": ("settings",),
    "commands.store": ("store",),
    "commands.tune": ("tune",),
    "commands.fits": ("fits",),
    "commands.gig": ("gig",),
    "commands.fit": ("fit",),
    "completing": ("completion",),
}

# What a write to a full disk, a reader that left or a terminal that is gone ends with.
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_UNWRITABLE = _FULL | {errno.EPIPE, errno.EIO, errno.EBADF}


def main() -> None:
    """Run drillbox for the shell; every named failure ends as one line and its exit code."""
    # Starting makes many lasting objects and next to no cycles: looking for cycles as often as
    # Python does by itself takes a tenth of the time to the first screen. Up to there are some
    # 110,000 of them.
    gc.set_threshold(200_000, 20, 20)
    end_at_once()
    _open_what_is_closed()
    _finish_what_is_written()
    try:
        code = run(sys.argv[1:])
        sys.stdout.flush()
    except OSError as problem:
        if problem.errno not in _UNWRITABLE:
            raise
        code = _unwritten(problem)
    except KeyboardInterrupt:
        from drillbox.errors import ExitCode

        code = ExitCode.INTERRUPTED
    end_at_once()
    sys.exit(code)


def run(arguments: list[str]) -> int:
    """Run one command line and return its exit code."""
    from drillbox.errors import DrillboxError, ExitCode
    from drillbox.output import outlets, tell

    with outlets():
        try:
            group = build(_asked_for(arguments))
            from drillbox.cli.helping import carry_out

            return carry_out(group, arguments)
        except DrillboxError as problem:
            tell(f"drillbox: {problem.line()}")
            return problem.exit_code
        except SystemExit as ended:
            return ended.code if isinstance(ended.code, int) else ExitCode.OK


def _asked_for(arguments: list[str]) -> tuple[str, ...]:
    """Return the module of the command that is asked for; all, where it is help that is, or no
    command."""
    words = iter(arguments)
    for word in words:
        if word == "--store":
            next(words, None)
        elif word not in {"--demo", "--ascii", "--plain"}:
            found = tuple(module for module, names in MODULES.items() if word in names)
            return found or tuple(MODULES)
    return tuple(MODULES)


def build(modules: tuple[str, ...] = tuple(MODULES)) -> TyperGroup:
    """Return the command line, with all its commands or those of some of ``MODULES``."""
    from drillbox.cli.completing import COMPLETING, offer_completion

    if os.environ.get(COMPLETING):
        offer_completion()
    return _made(modules)


@cache
def _made(modules: tuple[str, ...]) -> TyperGroup:
    """Make the command line of some modules; each once."""
    import typer  # takes .14 s: not at the import of the package
    from typer.main import get_group

    from drillbox.cli.context import before_commands
    from drillbox.cli.helping import laid_out

    app = typer.Typer(
        help=OVERVIEW,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback(invoke_without_command=True, help=OVERVIEW)(before_commands)
    for module in modules:
        import_module(f"drillbox.cli.{module}").register(app)
    group = get_group(app)
    laid_out(group)
    return group


def end_at_once() -> None:
    """Let Ctrl-C end the program without a word; where the shell had it ignored it stays so.

    That is for the time in which it is loaded and Python shuts down: nothing is begun then, or
    all is done.
    """
    if signal.getsignal(signal.SIGINT) != signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.SIG_DFL)


def _open_what_is_closed() -> None:
    """Put the null device where the shell closed a stream, as ``>&-`` does."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, Path(os.devnull).open(mode))  # noqa: SIM115 (it stays open)


def _finish_what_is_written() -> None:
    """Put a buffer before an output without one, as ``python -u`` and PYTHONUNBUFFERED have it.

    There Python drops the rest of a text where the system takes a part of it: when a signal
    comes in the middle (the window is resized), or when the disk is full.
    """
    out = sys.stdout
    if isinstance(getattr(out, "buffer", None), io.RawIOBase):
        sys.stdout = open(  # noqa: SIM115 (it stays open)
            out.fileno(), "w", 1, encoding=out.encoding, errors=out.errors, closefd=False
        )


def _unwritten(problem: OSError) -> int:
    """Say that the output can't be written, and keep Python from trying once more at its end."""
    from drillbox.errors import ExitCode
    from drillbox.output import tell

    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    if problem.errno != errno.EPIPE:  # a reader that left has seen enough
        tell(f"drillbox: The output can't be written: {problem.strerror}. Your ratings are kept.")
    return ExitCode.INTERNAL
