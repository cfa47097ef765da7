"""Bytes as they come -> lines, whatever they are.

Rule of this file: bounded. A line longer than LONGEST_LINE is given as None
once, however long it goes on, and no more than one line is ever held.
"""

from __future__ import annotations

from collections.abc import Iterator

LONGEST_LINE = 4096
"""Bytes: some 300 columns; nothing of ours is near it."""


class Lines:
    """Cuts a stream into numbered lines; `number` is that of the last line given."""

    def __init__(self) -> None:
        self.number = 0
        self._rest = b""
        self._too_long = False

    def take(self, chunk: bytes) -> Iterator[bytes | None]:
        """The lines that this chunk completes, without their ends; None for one too long."""
        *whole, rest = (self._rest + chunk).split(b"\n")
        self._rest = rest
        for line in whole:
            self.number += 1
            too_long, self._too_long = self._too_long or len(line) > LONGEST_LINE, False
            yield None if too_long else line
        if len(self._rest) > LONGEST_LINE:
            self._rest, self._too_long = b"", True

    def end(self) -> Iterator[bytes | None]:
        """The last line, if the stream did not end it."""
        if self._rest or self._too_long:
            yield from self.take(b"\n")
