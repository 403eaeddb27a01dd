"""Print the dump of a store, for the folder that this lies in."""

from __future__ import annotations

import sqlite3
import sys
from contextlib import closing

with closing(sqlite3.connect(sys.argv[1])) as released:
    print("\n".join(released.iterdump()))
