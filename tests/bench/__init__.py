"""Benches and the study; numpy is kept to one thread, as they run side by side."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
