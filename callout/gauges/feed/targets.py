"""Where a replayed feed goes: standard output, UDP, or whoever connects by TCP.

Rule of this file: as sources.py, the other way round. A target takes lines of text.
"""

from __future__ import annotations

import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol

from callout.gauges.feed.parsing import Row
from callout.gauges.feed.places import Place, Way
from callout.gauges.feed.problems import FeedProblem
from callout.gauges.feed.recording import Written, as_json


class Target(Protocol):
    """Takes rows."""

    def send(self, row: Row) -> None:
        """One row.  Raises OSError when nobody takes it any more."""


class _Output:
    def __init__(self) -> None:
        self._written = Written()

    def send(self, row: Row) -> None:
        for line in self._written.lines(row, 0.0):
            print(line, flush=True)


class _Datagrams:
    """A datagram a row, as JSON: one that is lost takes no head with it."""

    def __init__(self, port: socket.socket, place: Place) -> None:
        self._port = port
        self._to = (place.name, place.number)

    def send(self, row: Row) -> None:
        self._port.sendto(as_json(row).encode(), self._to)


class _Connection:
    def __init__(self, connection: socket.socket) -> None:
        self._connection = connection
        self._written = Written()

    def send(self, row: Row) -> None:
        for line in self._written.lines(row, 0.0):
            self._connection.sendall(line.encode() + b"\n")


@contextmanager
def target(place: Place) -> Iterator[Target]:
    """Open the place; by TCP it waits for one that connects.  Raises FeedProblem."""
    family = socket.AF_INET6 if ":" in place.name else socket.AF_INET
    try:
        if place.way is Way.STANDARD:
            yield _Output()
        elif place.way is Way.UDP:
            with socket.socket(family, socket.SOCK_DGRAM) as port:
                yield _Datagrams(port, place)
        elif place.way is Way.TCP:
            with socket.create_server((place.name, place.number), family=family) as server:
                print(f"Waiting for a connection to {place}.", file=sys.stderr)
                connection, _ = server.accept()
                with connection:
                    yield _Connection(connection)
        else:
            raise FeedProblem(
                f"A feed cannot be replayed to {place}: "
                "give -, udp:PORT, udp:HOST:PORT or tcp:PORT."
            )
    except OSError as error:
        if place.way is Way.STANDARD:
            raise
        why = error.strerror or str(error)
        raise FeedProblem(f"The feed cannot be sent to {place}: {why}.") from None
