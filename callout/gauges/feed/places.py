"""Where a feed comes from or goes to, in words of the command line.

Rule of this file: words to values; nothing is opened here.

  -                     standard input, or output
  FILE                  a file
  udp:PORT              datagrams that come to this machine, from itself only;
  udp:HOST:PORT         from elsewhere as well: 0.0.0.0 for whoever sends, or one
                        address of this machine. As a target: where they are sent
  tcp:HOST:PORT         a connection to one that sends. As a target (also tcp:PORT):
                        waits there for one that connects
  serial:DEVICE[:BAUD]  a serial port
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from callout.gauges.feed.problems import FeedProblem

BAUD = 115_200
"""Of a serial port where none is given."""

LOOPBACK = "127.0.0.1"

_FORMS = (
    "Give -, a file, udp:PORT, udp:HOST:PORT, tcp:HOST:PORT, serial:DEVICE or serial:DEVICE:BAUD."
)


class Way(Enum):
    """How the lines travel."""

    STANDARD = "standard input"
    FILE = "file"
    UDP = "UDP"
    TCP = "TCP"
    SERIAL = "serial port"


@dataclass(frozen=True, slots=True)
class Place:
    """One end of a feed.

    Fields:
        way: how the lines travel
        name: file, host or device ("" for standard input)
        number: port, or baud rate
    """

    way: Way
    name: str = ""
    number: int = 0

    @property
    def again(self) -> bool:
        """Whether it can be opened anew after it was lost."""
        return self.way not in (Way.STANDARD, Way.FILE)

    def __str__(self) -> str:
        if self.way is Way.STANDARD:
            return str(self.way.value)
        if self.way is Way.FILE:
            return self.name
        end = "" if self.way is Way.SERIAL else f":{self.number}"
        return f"{self.way.value} {self.name}{end}"


def place(words: str) -> Place:
    """Read one.  Raises FeedProblem."""
    head, colon, rest = words.partition(":")
    if words == "-":
        return Place(Way.STANDARD)
    if colon and head in ("udp", "tcp"):
        host, _, port = rest.rpartition(":")
        return Place(Way[head.upper()], host or LOOPBACK, _number(words, port, 65535))
    if colon and head == "serial":
        device, _, baud = rest.rpartition(":")
        if not baud.isdigit():
            device, baud = rest, str(BAUD)
        if not device:
            raise FeedProblem(f"{words!r} names no serial port. {_FORMS}")
        return Place(Way.SERIAL, device, _number(words, baud, 10_000_000))
    if not words or "\0" in words:
        raise FeedProblem(f"{words!r} is no place for a feed. {_FORMS}")
    return Place(Way.FILE, str(Path(words)))


def _number(words: str, digits: str, most: int) -> int:
    if not (digits.isascii() and digits.isdigit() and 0 < int(digits[:9]) <= most):
        raise FeedProblem(f"{words!r} has no number from 1 to {most} at its end. {_FORMS}")
    return int(digits)
