"""A fault of PostgreSQL as one clear line with a remedy."""

from __future__ import annotations

from pathlib import Path

from drillbox.errors import NotKnown, StoreFailure

_NOTHING = "nothing was stored"
_RETRY = "Wait a moment, then try again."
_KEEPER = "Ask who keeps the server."
# By SQLSTATE or its class (the first two characters), PostgreSQL 15 appendix A.
_SAID = {
    "08": ("The connection to the store {place} broke; " + _NOTHING, _RETRY),
    "28": (
        "The server of the store {place} doesn't let you in",
        "Check the user's name, and that the password is in PGPASSWORD or a password file.",
    ),
    "3D": ("There is no such database: {place}", "Check its name, or have it made: createdb."),
    "25006": ("The store {place} may only be read; " + _NOTHING, _KEEPER),
    "40": ("Another program changed the store {place} meanwhile; " + _NOTHING, "Try again."),
    "42501": ("You may not do that in the store {place}; " + _NOTHING, _KEEPER),
    "53100": ("No room is left on the server of the store {place}; " + _NOTHING, _KEEPER),
    "53": ("The server of the store {place} has too much to do; " + _NOTHING, _RETRY),
    "55P03": ("Another program holds the store {place}; " + _NOTHING, _RETRY),
    "57": ("The server of the store {place} is shutting down; " + _NOTHING, _RETRY),
    "58": ("The server of the store {place} has a fault of its own; " + _NOTHING, _KEEPER),
    "XX": ("The store {place} is damaged; " + _NOTHING, _KEEPER),
}


def failure_of_server(
    problem: BaseException | None, place: Path | str, *, committing: bool = False
) -> StoreFailure | None:
    """Return the failure that a fault of PostgreSQL is to a player, or None if it is none.

    ``committing``: the server was asked to commit, and may have done so without an answer.
    """
    if type(problem).__module__.partition(".")[0] != "psycopg":
        return None
    state = getattr(problem, "sqlstate", None)
    if committing and (state is None or state[:2] in {"08", "57"}):
        return NotKnown(
            f"The connection to the store {place} broke before the server answered;"
            " it isn't known whether that was stored",
            "Wait a moment, then look or try again.",
        )
    if state is None:
        return _unreached(problem, place) if _connecting(problem) else None
    said = _SAID.get(state) or _SAID.get(state[:2])
    return StoreFailure(said[0].format(place=place), said[1]) if said else None


def _connecting(problem: BaseException | None) -> bool:
    return type(problem).__name__ in {"OperationalError", "ConnectionTimeout"}


def _unreached(problem: BaseException | None, place: Path | str) -> StoreFailure:
    text = " ".join(str(problem).split())
    if "password" in text or "authentication" in text:
        what, remedy = _SAID["28"]
        return StoreFailure(what.format(place=place), remedy)
    return StoreFailure(
        f"The server of the store {place} can't be reached ({text[:160]}); nothing was stored",
        "Check that it runs and that the network is up, then try again.",
    )
