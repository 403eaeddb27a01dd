"""Read a file in a process of its own that measures itself."""

from __future__ import annotations

import resource
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

from drillbox.errors import BadInput
from drillbox.notation import Limits, read_bytes

FORKING = get_context("forkserver")
FORKING.set_forkserver_preload([__name__])  # so that each process finds the modules loaded


def measured(data: bytes, most: int) -> tuple[list[str], float, float]:
    """Read ``data`` of ``most`` bytes at most in a new process.

    Returns what was said first, the seconds of processor that it took and the process's peak of
    memory in MB.
    """
    with ProcessPoolExecutor(1, mp_context=FORKING, max_tasks_per_child=1) as one:
        return one.submit(_read, data, most).result()


def _read(data: bytes, most: int) -> tuple[list[str], float, float]:
    began, said = time.process_time(), list[str]()
    try:
        for tune in read_bytes(data, "hostile", limits=Limits(bytes=most)).tunes:
            said += [each.text for each in tune.problems] or ["read"]
    except BadInput as refused:
        said.append(refused.line())
    return said[:3], time.process_time() - began, _peak()


def _peak() -> float:
    # Linux keeps the parent's peak in ru_maxrss over fork, but not in VmHWM.
    if sys.platform == "linux":
        lines = Path("/proc/self/status").read_text().splitlines()
        found = [line for line in lines if line.startswith("VmHWM")]
        return int(found[0].split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024 / 1024
