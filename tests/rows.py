"""Tables of which all rows are one test: one each would cost more than what it looks at."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Any

import pytest


def every_row(names: str | tuple[str, ...], table: Collection[Any]) -> Callable[..., Any]:
    """Make one test of a function without fixtures that runs it with each row of a table.

    Names and rows are ``pytest.mark.parametrize``'s. All rows are run; each fault that they find
    is told with its row, of more than fifteen how many. Raises ValueError where there are no rows.
    """
    if not table:
        raise ValueError("a test without rows tests nothing")
    called = names.replace(" ", "").split(",") if isinstance(names, str) else names
    bare = isinstance(names, str) and len(called) == 1

    def over(test: Callable[..., None]) -> Callable[[], None]:
        def whole() -> None:
            faults = []
            for row in table:
                try:
                    test(**dict(zip(called, (row,) if bare else row, strict=True)))
                except (Exception, pytest.fail.Exception) as fault:
                    fault.add_note(f"in the row {row!r}")
                    faults.append(fault)
            if faults:
                raise BaseExceptionGroup(f"in {len(faults)} of {len(table)} rows", faults)

        whole.__name__, whole.__doc__, whole.__module__ = (
            test.__name__, test.__doc__, test.__module__,
        )  # fmt: skip
        return whole

    return over
