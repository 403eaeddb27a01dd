"""Parse a command, call one use-case, show the result, exit with a code."""

from __future__ import annotations

import sys


def main() -> None:
    """Run drillbox for the shell; every named failure ends as one line and its exit code."""
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run one command line and return its exit code."""
    from drillbox.cli.app import build  # typer takes 0.14 s: not at the import of the package
    from drillbox.errors import DrillboxError, ExitCode

    try:
        build()(args=arguments, prog_name="drillbox")
    except DrillboxError as problem:
        print(f"drillbox: {problem.line()}", file=sys.stderr)
        return problem.exit_code
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else ExitCode.OK
    return ExitCode.OK
