"""Where a feed's bytes come from: standard input, file, UDP, TCP, serial port.

Rule of this file: a source yields bytes as they come, and None when nothing came
for a moment, so that whoever reads it can look at the time and can stop. It ends
when there is no more, and raises FeedProblem when it cannot be read.
"""

from __future__ import annotations

import contextlib
import os
import select
import socket
import sys
from collections.abc import Iterator

from callout.gauges.feed.places import Place, Way
from callout.gauges.feed.problems import FeedProblem

MOMENT = 0.25
"""Seconds after which nothing is said to have come."""

CONNECTING = 5.0
"""Seconds that a connection may take."""

CHUNK = 65536
"""Bytes taken at once; the longest datagram there is fits."""


def chunks(place: Place) -> Iterator[bytes | None]:
    """Open the place and read it.  Raises FeedProblem."""
    openers = {
        Way.STANDARD: _standard,
        Way.FILE: _file,
        Way.UDP: _udp,
        Way.TCP: _tcp,
        Way.SERIAL: _serial,
    }
    return openers[place.way](place)


def _standard(place: Place) -> Iterator[bytes | None]:
    del place
    handle = sys.stdin.fileno()
    while True:
        # Windows cannot wait for a pipe with select: there it waits until something comes.
        if os.name != "nt" and not select.select([handle], [], [], MOMENT)[0]:
            yield None
            continue
        chunk = os.read(handle, CHUNK)
        if not chunk:
            return
        yield chunk


def _file(place: Place) -> Iterator[bytes | None]:
    try:
        with open(place.name, "rb") as file:
            while chunk := file.read(CHUNK):
                yield chunk
    except OSError as error:
        raise _problem(place, error) from None


def _udp(place: Place) -> Iterator[bytes | None]:
    with contextlib.ExitStack() as stack:
        try:
            port = stack.enter_context(socket.socket(_family(place), socket.SOCK_DGRAM))
            port.bind((place.name, place.number))
        except OSError as error:
            raise _problem(place, error) from None
        port.settimeout(MOMENT)
        # A datagram is whole lines, whether its last one is ended or not.
        yield from _received(port, place, b"\n")


def _tcp(place: Place) -> Iterator[bytes | None]:
    try:
        connection = socket.create_connection((place.name, place.number), CONNECTING)
    except OSError as error:
        raise _problem(place, error) from None
    with connection:
        connection.settimeout(MOMENT)
        yield from _received(connection, place, b"")


def _received(port: socket.socket, place: Place, end: bytes) -> Iterator[bytes | None]:
    """What comes in; an empty datagram is nothing, an empty read of a connection its end."""
    while True:
        try:
            chunk = port.recv(CHUNK)
        except TimeoutError:
            yield None
            continue
        except OSError as error:
            raise _problem(place, error) from None
        if not chunk and not end:
            return
        yield chunk + end


def _serial(place: Place) -> Iterator[bytes | None]:
    try:
        import serial
    except ImportError:
        raise FeedProblem(
            "A serial port needs pyserial, which is not installed: pip install pyserial."
        ) from None
    try:
        with serial.Serial(place.name, place.number, timeout=MOMENT) as port:
            while True:
                yield port.read(max(1, min(port.in_waiting, CHUNK))) or None
    except (OSError, ValueError) as error:  # serial.SerialException is an OSError
        raise _problem(place, error) from None


def _family(place: Place) -> socket.AddressFamily:
    return socket.AF_INET6 if ":" in place.name else socket.AF_INET


def _problem(place: Place, error: Exception) -> FeedProblem:
    why = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return FeedProblem(f"The feed from {place} cannot be read: {why}.")
