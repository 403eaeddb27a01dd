"""Run work in a child process and stop or kill it at its system calls (Linux's ptrace)."""

from __future__ import annotations

import ctypes
import itertools
import os
import signal
import sys
from collections.abc import Callable, Generator
from contextlib import closing
from functools import cache

_TRACEME, _SYSCALL, _SETOPTIONS = 0, 24, 0x4200
_EXITKILL = 0x100000


def kill_at(number: int, work: Callable[[], object]) -> bool:
    """Run ``work`` and kill it as it enters its system call ``number``, from 0.

    Returns whether it was killed: False where it came to its end before.
    """
    with closing(entering(work)) as calls:
        return any(at == number for at, _ in enumerate(calls))


def entering(work: Callable[[], object]) -> Generator[None]:
    """Run ``work`` and yield as it enters each of its system calls, while it stands still.

    To close the generator kills it there.
    """
    child = os.fork()
    if child == 0:
        _trace(_TRACEME, 0, 0)
        os.kill(os.getpid(), signal.SIGSTOP)
        try:
            work()
        finally:
            os._exit(0 if sys.exc_info()[0] is None else 1)
    os.waitpid(child, 0)
    _trace(_SETOPTIONS, child, _EXITKILL)
    try:
        for stop in itertools.count():
            _trace(_SYSCALL, child, 0)
            _, status = os.waitpid(child, 0)
            if os.WIFEXITED(status):
                assert os.WEXITSTATUS(status) == 0, "the work failed by itself"
                child = 0
                return
            if stop % 2 == 0:  # it stops as it enters a call and as it leaves it
                yield
    finally:
        if child:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)


def _trace(request: int, process: int, data: int) -> None:
    if _ptrace()(request, process, None, data) < 0:
        raise OSError(ctypes.get_errno(), "ptrace")


@cache
def _ptrace() -> Callable[..., int]:
    """Return the C library's function, found once: a run asks for it 70,000 times."""
    found = ctypes.CDLL(None, use_errno=True).ptrace
    found.argtypes = (ctypes.c_long, ctypes.c_long, ctypes.c_void_p, ctypes.c_void_p)
    found.restype = ctypes.c_long
    return found
