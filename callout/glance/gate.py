"""The listening socket: so many connections and no more, so many from one address.

Rule of this file: what is too much is closed before a byte of it is read. So a crowd
of connections cannot take the files that the logbook needs.
"""

from __future__ import annotations

import socket
from collections.abc import Iterator
from contextlib import suppress

from callout.glance.address import is_local
from callout.glance.problems import GlanceProblem

MOST = 48
"""Connections at a time, in all."""

MOST_FROM_ONE = 16
"""Connections at a time from one address."""


class Gate(socket.socket):
    """A listening socket that counts what it lets in."""

    def __init__(self, host: str, port: int) -> None:
        """Bind to one local address.  Raises GlanceProblem."""
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        super().__init__(family, socket.SOCK_STREAM)
        self._inside: list[tuple[socket.socket, str]] = []
        try:
            self.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            self.bind((host, port))
            self.listen(MOST)
        except OSError as error:
            self.close()
            raise GlanceProblem(
                f"The glance page cannot be served at {host}, port {port}: {error.strerror}. "
                "Give another with --glance-at ADDRESS:PORT."
            ) from error

    @property
    def port(self) -> int:
        """The port that it was given."""
        return int(self.getsockname()[1])

    def accept(self) -> tuple[socket.socket, tuple[str, int]]:
        """The next connection; ConnectionAbortedError for one that is not let in."""
        connection, peer = super().accept()
        host = str(peer[0])
        self._inside = [(one, of) for one, of in self._inside if one.fileno() != -1]
        from_one = sum(1 for _, of in self._inside if of == host)
        if not is_local(host) or len(self._inside) >= MOST or from_one >= MOST_FROM_ONE:
            connection.close()
            raise ConnectionAbortedError("not let in")
        self._inside.append((connection, host))
        return connection, peer

    def cut(self) -> None:
        """End the traffic of those who are connected; whoever serves them then closes them."""
        for one, _ in self._inside:
            with suppress(OSError):  # gone already
                one.shutdown(socket.SHUT_RDWR)

    def let_in(self) -> Iterator[str]:
        """Addresses of those who are connected."""
        return (host for one, host in self._inside if one.fileno() != -1)
