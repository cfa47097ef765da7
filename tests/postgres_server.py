"""A real PostgreSQL server of one test's own: Debian's binaries, a unix socket, no port.

Rule of this file: a server and plain functions, no test. It lives in a short folder of its
own, since the name of a unix socket has 107 bytes at most (unix(7)), and is stopped and
removed with the test. As root it runs as Debian's user "postgres": it refuses root itself.
"""

from __future__ import annotations

import contextlib
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType

from callout.logbook.places import Server

BINARIES = sorted(Path("/usr/lib/postgresql").glob("*/bin"))

# Nothing of a test's server has to outlast the machine: fsync would cost most of the time.
# There is room for connections whose end a busy server has not seen yet, and nothing goes on
# behind a test's back: a vacuum in the database that new ones are copied from forbids that.
_SETTINGS = (
    "-c listen_addresses='' -c fsync=off -c shared_buffers=16MB -c max_connections=100 "
    "-c autovacuum=off"
)

_PATIENCE = "240"
"""Seconds in which it has to start or to stop, on a busy machine."""

NONE: Mapping[str, bytes] = MappingProxyType({})


class Postgres:
    """A server that can be stopped and started again."""

    def __init__(self, folder: Path, more: str = "") -> None:
        self.folder = folder
        self.data = folder / "data"
        self.more = more

    def run(self, program: str, *words: str) -> str:
        """Run one of the server's programs as its user, whatever PGPORT and the like say here."""
        user = pwd.getpwnam("postgres") if os.geteuid() == 0 else None
        done = subprocess.run(
            [str(BINARIES[-1] / program), *words],
            capture_output=True, text=True, check=True, cwd=self.folder,
            user=user and user.pw_uid, group=user and user.pw_gid,
            extra_groups=[] if user else None,
            env={name: told for name, told in os.environ.items() if not name.startswith("PG")},
        )  # fmt: skip
        return done.stdout

    def start(self) -> None:
        where = f"-k {self.folder} {_SETTINGS} {self.more}"
        self.run(
            "pg_ctl", "-w", "-t", _PATIENCE, "-D", str(self.data),
            "-l", str(self.folder / "log"), "-o", where, "start",
        )  # fmt: skip

    def stop(self) -> None:
        """At once, as a server whose machine goes down: every connection is cut."""
        words = ["-w", "-t", _PATIENCE, "-D", str(self.data), "-m", "immediate", "stop"]
        self.run("pg_ctl", *words)

    def database(self, name: str) -> Server:
        """A new, empty database."""
        self.run("createdb", "-h", str(self.folder), "-U", "postgres", name)
        return self.place(name)

    def place(self, name: str) -> Server:
        return Server(f"postgresql://postgres@/{name}?host={self.folder}")

    def sql(self, name: str, query: str) -> str:
        """What psql, which is not ours, says to a query."""
        return self.run("psql", "-h", str(self.folder), "-U", "postgres", "-AtqX",
                        "-v", "ON_ERROR_STOP=1", "-c", query, name)  # fmt: skip


@contextlib.contextmanager
def running(more: str = "", files: Mapping[str, bytes] = NONE) -> Iterator[Postgres]:
    """A server, stopped and removed afterwards.

    `more` are settings beside ours; `files` lie in its data folder, for its user alone.
    """
    folder = Path(tempfile.mkdtemp(prefix="pg-", dir="/tmp"))
    if os.geteuid() == 0:
        user = pwd.getpwnam("postgres")
        os.chown(folder, user.pw_uid, user.pw_gid)
    server = Postgres(folder, more)
    try:
        server.run("initdb", "-D", str(server.data), "-U", "postgres", "-A", "trust",
                   "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")  # fmt: skip
        for name, content in files.items():
            file = server.data / name
            file.write_bytes(content)
            file.chmod(0o600)
            if os.geteuid() == 0:
                os.chown(file, user.pw_uid, user.pw_gid)
        server.start()
        try:
            yield server
        finally:
            with contextlib.suppress(subprocess.CalledProcessError):
                server.stop()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
