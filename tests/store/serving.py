"""A PostgreSQL server of one's own for the tests, from Debian's packages, on loopback."""

from __future__ import annotations

import contextlib
import os
import pwd
import shutil
import socket
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from drillbox.store.opening import open_store
from tests.store.making import NOW

INSTALL = "apt-get install postgresql, and pip install '.[postgres]'"
PASSWORD = "of the tests"


def programs() -> Path | None:
    """Return the folder of the newest server's programs, or None if there is none."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/pg_ctl"), key=lambda each: each.parts[4])
    return found[-1].parent if found else None


class Server:
    """A running server; it can be stopped and started again."""

    def __init__(self, folder: Path, bin: Path) -> None:
        self.folder, self._bin, self._made = folder, bin, ""
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        # The server refuses to run as root.
        self._user = "postgres" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name
        if os.geteuid() == 0:
            shutil.chown(folder, "postgres")
        secret = folder / "secret"
        secret.write_text(PASSWORD)
        secret.chmod(0o644)
        self._run("initdb", "-U", "keeper", "-A", "scram-sha-256", "--pwfile", secret, "-N",
                  "--locale", "C.UTF-8", "-E", "UTF8", "-D", folder / "data")  # fmt: skip
        self.start()

    def start(self) -> None:
        """Start the server and wait until it answers.

        Tests crash it, but never the machine under it: it needn't wait for the disk.
        """
        options = f"-p {self.port} -c listen_addresses=127.0.0.1 -c unix_socket_directories="
        options += " -c fsync=off -c autovacuum=off"
        self._run("pg_ctl", "-D", self.folder / "data", "-w", "-o", options,
                  "-l", self.folder / "log", "start")  # fmt: skip

    def stop(self, how: str = "fast") -> None:
        """Stop the server: ``fast`` breaks connections off, ``immediate`` is a crash."""
        self._run("pg_ctl", "-D", self.folder / "data", "-w", "-m", how, "stop")

    def database(self, encoding: str = "UTF8", template: str = "template1") -> str:
        """Make a database like a template, which is empty, and return its address.

        Its text is kept in an encoding.
        """
        import psycopg  # the extra

        name = f"drill_{uuid.uuid4().hex[:12]}"
        with psycopg.connect(self.address("postgres", driver=""), autocommit=True) as connection:
            kept = f"ENCODING '{encoding}' TEMPLATE template0 LOCALE 'C'"
            like = f"TEMPLATE {template}" if encoding == "UTF8" else kept
            connection.execute(f'CREATE DATABASE "{name}" {like}')
        return self.address(name)

    def made(self) -> str:
        """Make a database with an empty store, like one that was migrated once; return its address.

        The password is in the environment.
        """
        if not self._made:
            address = self.database()
            open_store(address, now=NOW).close()
            self._made = address.rsplit("/", 1)[1]
        return self.database(template=self._made)

    def address(self, database: str, *, driver: str = "+psycopg", user: str = "keeper") -> str:
        """Return the address of a database."""
        return f"postgresql{driver}://{user}@127.0.0.1:{self.port}/{database}"

    def _run(self, program: str, *arguments: object) -> None:
        subprocess.run(
            [self._bin / program, *map(str, arguments)],
            check=True,
            user=self._user if os.geteuid() == 0 else None,
            cwd=self.folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"},
        )


@contextmanager
def served() -> Iterator[Server]:
    """Start a server and stop it; without one the tests skip, but in CI they fail."""
    bin = programs()
    missing = None if bin else "there is no PostgreSQL server"
    try:
        import psycopg  # noqa: F401 - the extra
    except ImportError:
        missing = "psycopg isn't installed"
    if missing or bin is None:
        if os.environ.get("CI"):
            pytest.fail(f"{missing}; CI must have one: {INSTALL}")
        pytest.skip(f"{missing}: {INSTALL}")
    folder = Path(tempfile.mkdtemp(prefix="drillbox-server-"))
    folder.chmod(0o755)
    server = None
    try:
        server = Server(folder, bin)
        yield server
    finally:
        if server:
            with contextlib.suppress(subprocess.CalledProcessError):  # a test left it stopped
                server.stop("immediate")
        shutil.rmtree(folder)
