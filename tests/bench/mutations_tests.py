"""Which tests run a line: noted once for a tree, by coverage, in every process that tests start."""

from __future__ import annotations

import ast
import hashlib
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import suppress
from functools import cache
from pathlib import Path

from coverage import Coverage, CoverageData

SHARE = 0.1
"""How much is run for one change at most, of the time that all tests took when they were noted."""
SETTINGS = """\
[run]
source = {folder}/tree/drillbox
data_file = {folder}/lines
parallel = true
patch = _exit
context = ${{PYTEST_CURRENT_TEST-}}
disable_warnings = no-data-collected, module-not-imported, module-not-measured, already-imported
"""
"""A child names its lines after the test that started it; one that is forked ends by ``_exit``."""


class Tests:
    """A copy of a tree under the temporary folder, and which of its tests run which lines.

    What was noted is kept there for as long as no file of product and tests changes.
    """

    def __init__(self, root: Path) -> None:
        whole = hashlib.sha256()
        for file in sorted([*root.glob("drillbox/**/*.py"), *root.glob("tests/**/*.py")]):
            whole.update(bytes(file.relative_to(root)) + file.read_bytes())
        self.folder = Path(tempfile.gettempdir()) / f"mutations-{whole.hexdigest()[:12]}"
        self.tree = self.folder / "tree"
        shutil.rmtree(self.tree, ignore_errors=True)
        left = shutil.ignore_patterns(".git", ".venv", "__pycache__", ".*_cache", ".hypothesis")
        shutil.copytree(root, self.tree, ignore=left)
        # By hash: what is compiled must never be taken for a change of the same second and size.
        subprocess.run([sys.executable, "-m", "compileall", "-q", "--invalidation-mode",
                        "checked-hash", self.tree / "drillbox"], check=True)  # fmt: skip
        if not (self.folder / "seconds").exists():
            self._note()
        self.seconds = json.loads((self.folder / "seconds").read_text("utf-8"))
        self.lines = CoverageData(str(self.folder / "lines"))
        self.lines.read()

    def _note(self) -> None:
        settings, seconds = self.folder / "settings", self.folder / "seconds-so-far"
        settings.write_text(SETTINGS.format(folder=self.folder), "utf-8")
        self._pytest(["-n2", "--seconds-into", str(seconds)], COVERAGE_PROCESS_START=str(settings))
        noted = Coverage(config_file=str(settings))
        noted.combine()
        noted.save()
        seconds.rename(self.folder / "seconds")

    def _pytest(self, arguments: list[str], limit: float | None = None, **more: str) -> int:
        """Run pytest in the copy and end what it leaves behind; return its code, 1 if endless."""
        command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-p",
                   "tests.bench.mutations_plugin", "--tb=no", *arguments]  # fmt: skip
        with subprocess.Popen(
            command, cwd=self.tree, start_new_session=True,
            env=os.environ | {"PYTHONPATH": str(self.tree), "CI": "1"} | more,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        ) as running:  # fmt: skip
            try:
                return running.wait(limit)
            except subprocess.TimeoutExpired:
                return 1
            finally:
                with suppress(ProcessLookupError):
                    os.killpg(running.pid, signal.SIGKILL)

    def failed(self, tests: list[str]) -> str | None:
        """Run tests until one fails or doesn't end; return that one, None where all pass."""
        limits = {name: 30 + 10 * self.seconds[name] for name in tests}
        chosen, now = self.folder / "chosen.json", self.folder / "chosen.now"
        chosen.write_text(json.dumps(limits), "utf-8")
        now.write_text("every test")
        files = sorted({name.partition("::")[0] for name in tests})
        code = self._pytest(["-n0", "-x", "--chosen", str(chosen), *files], sum(limits.values()))
        return now.read_text("utf-8") if code else None

    def running(self, path: Path, line: int) -> list[str]:
        """Return the tests that run a statement or what it makes, then others of its module.

        Of both those of the module's room come first, then the quickest.
        """
        lines, names = statement(ast.parse((self.tree / path).read_bytes()), line)
        module = self._noted(str(self.tree / path))
        near = {test for each in lines for test in module.get(each, ())}
        for file in self.tree.glob("drillbox/**/*.py") if names else ():
            noted, said = self._noted(str(file)), re.compile(rf"\b({'|'.join(names)})\b")
            for number, text in enumerate(file.read_text("utf-8").splitlines(), 1):
                if number in noted and said.search(text):
                    near.update(noted[number])
        found = {test for tests in module.values() for test in tests} | near
        room = f"tests/{path.parts[1]}/"
        order = sorted(
            found,
            key=lambda test: (test not in near, not test.startswith(room), self.seconds[test]),
        )
        return list(self._within(order, SHARE * sum(self.seconds.values())))

    @cache  # noqa: B019 - there is one for each run
    def _noted(self, file: str) -> dict[int, set[str]]:
        """Return the tests that run each line of a file; a child's are called ``NAME (call)``."""
        names = {
            context: re.sub(r" \(\w+\)$", "", context) for context in self.lines.measured_contexts()
        }
        return {
            line: {names[each] for each in contexts} & self.seconds.keys()
            for line, contexts in self.lines.contexts_by_lineno(file).items()
        }

    def _within(self, tests: Iterable[str], limit: float) -> Iterator[str]:
        for test in tests:
            limit -= self.seconds[test]
            if limit < 0:
                return
            yield test


def statement(module: ast.Module, line: int) -> tuple[range, list[str]]:
    """Return the lines of the statement at a line, and the names under which others meet it.

    It has names where it runs once for all tests: as its module is imported, or in a function
    that is cached. Of a statement with others in it only the head counts.
    """
    around = [
        node
        for node in ast.walk(module)
        if isinstance(node, ast.stmt) and node.lineno <= line <= (node.end_lineno or 0)
    ]
    if not around:
        return range(line, line + 1), []
    inner = around[-1]
    body = getattr(inner, "body", None)
    last = max(inner.lineno, body[0].lineno - 1) if body else inner.end_lineno
    functions = [each for each in around[:-1] if isinstance(each, ast.FunctionDef)]
    assert last is not None
    lines = range(inner.lineno, last + 1)
    if not functions:
        return lines, _made(inner)
    once = [each.name for each in functions if "cache" in map(ast.unparse, each.decorator_list)]
    return lines, once


def _made(node: ast.stmt) -> list[str]:
    """Return the names that a statement gives to what it makes."""
    match node:
        case ast.ClassDef(name) | ast.FunctionDef(name):
            return [name]
        case ast.Assign(targets):
            return [each.id for target in targets for each in ast.walk(target)
                    if isinstance(each, ast.Name)]  # fmt: skip
        case ast.AnnAssign(ast.Name(name)):
            return [name]
    return []
