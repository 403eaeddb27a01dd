"""The help as a terminal has room for it, and one line for a command line that can't be read."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from types import TracebackType

from typer._click.core import Command, Context
from typer._click.exceptions import MissingParameter, NoArgsIsHelpError, UsageError
from typer._click.formatting import HelpFormatter
from typer.core import TyperGroup

from drillbox.errors import ExitCode
from drillbox.output import tell

WIDEST = 78
_NARROW = 50


class Page(HelpFormatter):
    """A page of help as wide as the terminal; where that is narrow, names take a third of it."""

    def __init__(self, **_: object) -> None:
        super().__init__(width=max(20, min(WIDEST, shutil.get_terminal_size().columns - 2)))

    def write_dl(
        self, rows: Sequence[tuple[str, str]], col_max: int = 30, col_spacing: int = 2
    ) -> None:
        """Write names with what they do."""
        room = col_max if self.width >= _NARROW else self.width // 3
        super().write_dl(rows, room, col_spacing)


class PageContext(Context):
    """A command's context, whose help is such a page, and the one that its slips point to."""

    formatter_class = Page

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> bool | None:
        """Leave the context; a slip that knows no command yet is this one's."""
        if isinstance(problem, UsageError) and problem.ctx is None:
            problem.ctx = self
        return super().__exit__(kind, problem, trace)


def laid_out(command: Command) -> None:
    """Let a command and those below it lay out their help so; lists have whole first sentences."""
    command.context_class = PageContext
    first, point, _ = " ".join((command.help or "").split()).partition(". ")
    command.short_help = first + point.rstrip()
    if isinstance(command, TyperGroup):
        for each in command.commands.values():
            laid_out(each)


def carry_out(group: TyperGroup, arguments: list[str]) -> int:
    """Run a command line and return its exit code; say in one line why it can't be read."""
    try:
        code = group(args=arguments, prog_name="drillbox", standalone_mode=False)
    except NoArgsIsHelpError as help:
        help.show()
        return ExitCode.USAGE
    except UsageError as slip:
        tell(f"drillbox: {slip_line(slip)}")
        return ExitCode.USAGE
    return code if isinstance(code, int) else ExitCode.OK


def slip_line(slip: UsageError) -> str:
    """Say what is wrong in a command line, and what to do."""
    said = slip.format_message().strip()
    said += "" if said.endswith((".", "?", ")")) else "."
    adding = " Add it;" if isinstance(slip, MissingParameter) else ""
    see = "see" if adding else "See"
    return f"{said}{adding} {see}: {slip.ctx.command_path if slip.ctx else 'drillbox'} --help"
