"""A table that is looked up where it lies: a text file, a line for an entry, in order of keys.

Rule of this file: nothing is read into memory; the file is mapped, and a look-up
takes the steps of a search by halves. As a Python dict a pronouncing dictionary
is larger than everything else an ear needs.
"""

from __future__ import annotations

import mmap
from collections.abc import Iterator
from pathlib import Path


class SortedLines:
    """Lines of a file whose keys, as bytes, never fall from line to line.

    A key is what stands before the first `end` of a line, and before a "(" in it:
    pronouncing dictionaries number the second way of saying a word, "the(2)".
    """

    def __init__(self, path: Path, end: bytes = b" ") -> None:
        self._end = end
        with path.open("rb") as file:
            self._text = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)

    def find(self, key: bytes) -> list[bytes]:
        """All lines with this key, in their order, without the line's end."""
        found, place = [], self._first_not_before(key)
        while place < len(self._text):
            line = self._line(place)
            if self._key(line) != key:
                break
            found.append(line)
            place += len(line) + 1
        return found

    def __iter__(self) -> Iterator[bytes]:
        """Each key once, in order."""
        place, before = 0, b""
        while place < len(self._text):
            line = self._line(place)
            key = self._key(line)
            if key != before:
                yield key
            place, before = place + len(line) + 1, key

    def _first_not_before(self, key: bytes) -> int:
        """Where the first line begins whose key is this one or comes after it."""
        low, high = 0, len(self._text)
        while low < high:
            middle = self._text.rfind(b"\n", 0, (low + high) // 2) + 1
            line = self._line(middle)
            if self._key(line) < key:
                low = middle + len(line) + 1
            else:
                high = middle
        return low

    def _line(self, place: int) -> bytes:
        end = self._text.find(b"\n", place)
        return self._text[place : end if end >= 0 else len(self._text)]

    def _key(self, line: bytes) -> bytes:
        return line.partition(self._end)[0].partition(b"(")[0]
