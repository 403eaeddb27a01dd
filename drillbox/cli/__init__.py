"""Parse a command, call one use-case, show the result, exit with a code.

The command line is one typer application of all commands.
"""

from __future__ import annotations

import errno
import gc
import io
import os
import signal
import sys
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typer.core import TyperGroup

OVERVIEW = """Keep your lines alive in all twelve keys.

Bring a phrase in with 'add', play what 'drill' shows and rate it with one press,
see what is weak with 'summary'.
"""

# What a write to a full disk, a reader that left or a terminal that is gone ends with.
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_UNWRITABLE = _FULL | {errno.EPIPE, errno.EIO, errno.EBADF}


def main() -> None:
    """Run drillbox for the shell; every named failure ends as one line and its exit code."""
    # Starting makes many lasting objects and next to no cycles: looking for cycles as often as
    # Python does by itself takes a tenth of the time to the first screen.
    gc.set_threshold(100_000, 20, 20)
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
            build()(args=arguments, prog_name="drillbox")
        except DrillboxError as problem:
            tell(f"drillbox: {problem.line()}")
            return problem.exit_code
        except SystemExit as ended:
            return ended.code if isinstance(ended.code, int) else ExitCode.OK
    return ExitCode.OK


def build() -> TyperGroup:
    """Return the command line with all its commands."""
    from drillbox.cli.completing import COMPLETING, offer_completion

    if os.environ.get(COMPLETING):
        offer_completion()
    return _made()


@cache
def _made() -> TyperGroup:
    """Make the command line, once, as that takes .05 s."""
    import typer  # takes .14 s: not at the import of the package
    from typer.main import get_group

    from drillbox.cli import completing
    from drillbox.cli.commands import (
        add,
        drill,
        edit,
        fit,
        fits,
        gig,
        listen,
        loop,
        phrases,
        round,
        settings,
        store,
        summary,
        tune,
    )  # fmt: skip
    from drillbox.cli.context import before_commands

    app = typer.Typer(
        help=OVERVIEW,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback(invoke_without_command=True, help=OVERVIEW)(before_commands)
    modules = (
        add, drill, round, loop, listen, summary, phrases, edit, settings, store, tune, fits, gig,
        fit, completing,
    )  # fmt: skip
    for module in modules:
        module.register(app)
    return get_group(app)


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

    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    if problem.errno != errno.EPIPE:  # a reader that left has seen enough
        print(
            f"drillbox: The output can't be written: {problem.strerror}. Your ratings are kept.",
            file=sys.stderr,
        )
    return ExitCode.INTERNAL
