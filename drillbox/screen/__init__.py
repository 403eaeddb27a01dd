"""Turn results into rich renderables; no I/O and no queries."""
