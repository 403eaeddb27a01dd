"""Stores as each released schema wrote them, as SQL dumps: ``NUMBER.sql`` by its revision.

``python -m tests.store.released STORE`` prints the dump of a store; a dump that was released
isn't changed any more.
"""
