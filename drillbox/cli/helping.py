"""The help as a terminal has room for it, and one line for a command line that can't be read."""

from __future__ import annotations

import re
import shutil
from collections.abc import Sequence
from types import TracebackType

from typer._click.core import Command, Context
from typer._click.exceptions import (
    BadOptionUsage,
    BadParameter,
    MissingParameter,
    NoArgsIsHelpError,
    UsageError,
)
from typer._click.formatting import HelpFormatter
from typer.core import TyperArgument, TyperGroup, TyperOption

from drillbox.errors import ExitCode
from drillbox.output import tell

WIDEST = 78
_NARROW = 50
_TYPE = re.compile(r" <[^>]+>$")
_BESIDES = re.compile(r" +\[([^]]+)\]$")
_EXTRA = "Got unexpected extra argument(s) "


class Page(HelpFormatter):
    """A page of help as wide as the terminal; where that is narrow, names take a third of it.

    It is in a player's words: none of a programming language's types and comparisons.
    """

    def __init__(self, **_: object) -> None:
        super().__init__(width=max(20, min(WIDEST, shutil.get_terminal_size().columns - 2)))

    def write_usage(self, prog: str, args: str = "", prefix: str | None = None) -> None:
        """Write how a command is called; only what may be left out stands in brackets."""
        super().write_usage(prog, re.sub(r"{(\w+)}", r"\1", args), prefix)

    def write_dl(
        self, rows: Sequence[tuple[str, str]], col_max: int = 30, col_spacing: int = 2
    ) -> None:
        """Write names with what they do."""
        room = col_max if self.width >= _NARROW else self.width // 3
        said = [(_TYPE.sub("", name), _BESIDES.sub(_besides, what)) for name, what in rows]
        super().write_dl(said, room, col_spacing)


def _besides(found: re.Match[str]) -> str:
    """Return default, range and the like in parentheses, the range in words."""
    besides = re.sub(r"x>=(\d+)", r"\1 or more", found[1].replace("<=x<=", " to "))
    return f" ({besides})"


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
    said = _said(slip)
    said += "" if said.endswith((".", "?")) else "."
    adding = " Add it;" if isinstance(slip, MissingParameter) else ""
    see = "see" if adding else "See"
    return f"{said}{adding} {see}: {slip.ctx.command_path if slip.ctx else 'drillbox'} --help"


def _said(slip: UsageError) -> str:
    """Say what is wrong in our words where the library's aren't a player's."""
    said = slip.format_message().strip()
    if isinstance(slip, BadParameter) and isinstance(slip.param, TyperOption):
        return said if isinstance(slip, MissingParameter) else _not_a_number(slip.param)
    if isinstance(slip, BadOptionUsage):
        wants = said.endswith("requires an argument.")
        return f"{slip.option_name} {'needs a value after it' if wants else 'takes no value'}"
    if said.startswith(_EXTRA):
        return _too_much(said.removeprefix(_EXTRA)[1:-1], slip.ctx)
    return said


def _not_a_number(option: TyperOption) -> str:
    """Say which numbers an option takes: only those that take numbers refuse a value here."""
    whole = " whole" if option.type_descriptor.annotation is int else ""
    held = f" from {option.min} to {option.max}" if option.max is not None else ""
    if option.min is not None and not held:
        held = f", {option.min} or more"
    return f"{option.opts[0]} must be a{whole} number{held}"


def _too_much(words: str, ctx: Context | None) -> str:
    """Say what is too much, and how several words are kept together where a command takes some."""
    takes = ctx is not None and any(isinstance(each, TyperArgument) for each in ctx.command.params)
    quotes = "; put quotes around words that belong together" if takes else ""
    return f"{words!r} is too much here{quotes}"
