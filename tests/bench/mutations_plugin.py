"""A pytest plugin for counting small faults: which lines a test runs, and chosen tests alone.

Coverage is told which test runs (it must have been started with the interpreter, by
``COVERAGE_PROCESS_START``). ``--seconds-into FILE`` writes how long each test took.
``--chosen FILE`` runs the tests of a JSON object alone, in its order; its numbers are the seconds
after which each is taken for endless, which ends the process. ``FILE.now`` names the test that
runs: after a run that stops at the first failure, the one that failed.
"""

from __future__ import annotations

import faulthandler
import json
from collections import Counter
from collections.abc import Generator
from pathlib import Path

import coverage
import pytest

SECONDS: Counter[str] = Counter()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--seconds-into", type=Path)
    parser.addoption("--chosen", type=Path)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Keep the chosen tests, in the order in which they were chosen."""
    if config.option.chosen:
        SECONDS.update(json.loads(config.option.chosen.read_text("utf-8")))
        collected = {item.nodeid: item for item in items}
        items[:] = [collected[name] for name in SECONDS if name in collected]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    """Note each line under the test that runs it; end a chosen test that is endless."""
    tracer = coverage.Coverage.current()
    if tracer:
        tracer.switch_context(item.nodeid)
    chosen = item.config.option.chosen
    if chosen:
        chosen.with_suffix(".now").write_text(item.nodeid, "utf-8")
        faulthandler.dump_traceback_later(SECONDS[item.nodeid], exit=True)
    done = yield
    faulthandler.cancel_dump_traceback_later()
    if tracer:
        tracer.switch_context("")
    return done


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if not report.skipped:
        SECONDS[report.nodeid] += report.duration


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Write what was noted; a worker of xdist ends too abruptly for coverage to do so itself."""
    tracer = coverage.Coverage.current()
    if tracer:
        tracer.stop()
        tracer.save()
    into = session.config.option.seconds_into
    if into and not hasattr(session.config, "workerinput"):
        into.write_text(json.dumps(SECONDS), "utf-8")
