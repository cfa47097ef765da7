"""Rows read straight from the pages of a SQLite file, whatever else of it is broken.

Rule of this file: bytes in, rows out, by the published file format (sqlite.org/fileformat2.html,
whose section numbers stand below); SQLite itself is not asked, since it gives up where an
inner page is lost. What cannot be read is left out and never an error.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

Values = tuple[Any, ...]

_MAGIC = b"SQLite format 3\x00"
_USUAL = 4096
"""Size of a page where the file does not say it: SQLite's default."""

_LEAF = 0x0D
"""First byte of a page that holds rows of a table (1.6)."""

LARGEST = 64 * 2**20
"""Bytes of one row: a piece of recorded talk has some megabytes."""


class BrokenError(Exception):
    """What stands there is not of the format."""


@dataclass
class Pages:
    """The pages of a file with what its write-ahead log has committed over them.

    Fields:
        size: bytes of a page
        count: how many there are
    """

    path: Path
    size: int = _USUAL
    count: int = 0
    _over: dict[int, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._file = self.path.open("rb")
        head = self._file.read(100)
        (told,) = struct.unpack(">H", head[16:18]) if len(head) == 100 else (0,)
        told = 65536 if told == 1 else told
        if head[:16] == _MAGIC and told >= 512 and told & (told - 1) == 0:
            self.size = told
        log = self.path.with_name(self.path.name + "-wal")
        self._log = log.open("rb") if log.is_file() else None
        if self._log is not None:
            self._over = dict(_committed(self._log.read(), self.size))
        whole = -(-self.path.stat().st_size // self.size)
        self.count = max(whole, *self._over, 0) if self._over else whole

    def close(self) -> None:
        """Let the files go."""
        self._file.close()
        if self._log is not None:
            self._log.close()

    def __getitem__(self, number: int) -> bytes:
        """Page `number`, from 1; what is missing at its end is zero."""
        if number in self._over:
            assert self._log is not None
            self._log.seek(self._over[number])
            return self._log.read(self.size)
        self._file.seek((number - 1) * self.size)
        return self._file.read(self.size).ljust(self.size, b"\x00")

    def free(self) -> frozenset[int]:
        """Pages that hold nothing any more, so far as their list can be followed (1.5)."""
        (trunk,) = struct.unpack(">I", self[1][32:36])
        found: set[int] = set()
        while 0 < trunk <= self.count and trunk not in found:
            found.add(trunk)
            page = self[trunk]
            (count,) = struct.unpack(">I", page[4:8])
            count = min(count, (self.size - 8) // 4)
            found.update(struct.unpack(f">{count}I", page[8 : 8 + 4 * count]))
            (trunk,) = struct.unpack(">I", page[:4])
        return frozenset(found)


def _committed(log: bytes, size: int) -> Iterator[tuple[int, int]]:
    """(page, where its latest committed content begins) of a write-ahead log (4.1 to 4.4)."""
    if len(log) < 32:
        return
    magic, _, told, _, *salt = struct.unpack(">6I", log[:24])
    if magic not in (0x377F0682, 0x377F0683) or told != size:
        return
    order = ">" if magic & 1 else "<"
    check = _checksum(order, log[:24], (0, 0))
    if check != struct.unpack(">2I", log[24:32]):
        return
    waiting: dict[int, int] = {}
    for at in range(32, len(log) - 24 - size + 1, 24 + size):
        page, commit, *rest = struct.unpack(">6I", log[at : at + 24])
        check = _checksum(order, log[at : at + 8], check)
        check = _checksum(order, log[at + 24 : at + 24 + size], check)
        if rest[:2] != salt or tuple(rest[2:]) != check:
            return
        waiting[page] = at + 24
        if commit:
            yield from waiting.items()
            waiting.clear()


def _checksum(order: str, data: bytes, start: tuple[int, int]) -> tuple[int, int]:
    one, two = start
    words = struct.unpack(f"{order}{len(data) // 4}I", data)
    for first, second in zip(words[::2], words[1::2], strict=True):
        one = (one + first + two) & 0xFFFFFFFF
        two = (two + second + one) & 0xFFFFFFFF
    return one, two


def rows(pages: Pages) -> Iterator[tuple[int, int, Values | None]]:
    """(page, rowid, values) of every row; values None where a row is there but cannot be read."""
    for number in range(1, pages.count + 1):
        page = pages[number]
        start = 100 if number == 1 else 0
        if page[start] != _LEAF:
            continue
        (count,) = struct.unpack(">H", page[start + 3 : start + 5])
        for place in range(start + 8, min(start + 8 + 2 * count, pages.size - 1), 2):
            (at,) = struct.unpack(">H", page[place : place + 2])
            try:
                yield number, *_cell(pages, page, at)
            except (BrokenError, struct.error, IndexError, UnicodeDecodeError):
                yield number, 0, None


def _cell(pages: Pages, page: bytes, at: int) -> tuple[int, Values]:
    """(rowid, values) of a cell of a leaf of a table (1.6)."""
    size, at = _varint(page, at)
    rowid, at = _varint(page, at)
    if not 0 < size <= LARGEST:
        raise BrokenError
    usable = pages.size
    most, least = usable - 35, (usable - 12) * 32 // 255 - 23
    here = size
    if size > most:
        here = least + (size - least) % (usable - 4)
        here = here if here <= most else least
    payload = page[at : at + here]
    if size > most:
        payload += _overflow(pages, page[at + here : at + here + 4], size - here)
    if len(payload) != size:
        raise BrokenError
    return rowid, _record(payload)


def _overflow(pages: Pages, pointer: bytes, left: int) -> bytes:
    """The rest of a payload from its chain of pages (1.7)."""
    parts = []
    while left > 0:
        (number,) = struct.unpack(">I", pointer)
        if not 0 < number <= pages.count:
            raise BrokenError
        page = pages[number]
        parts.append(page[4 : 4 + min(left, pages.size - 4)])
        left -= len(parts[-1])
        pointer = page[:4]
    return b"".join(parts)


def _record(payload: bytes) -> Values:
    """The values of a record (2.1)."""
    head, at = _varint(payload, 0)
    types = []
    while at < head:
        kind, at = _varint(payload, at)
        types.append(kind)
    if at != head or len(types) > 100:
        raise BrokenError
    values = []
    for kind in types:
        value, at = _value(payload, at, kind)
        values.append(value)
    if at != len(payload):
        raise BrokenError
    return tuple(values)


_WIDTHS = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}
"""Serial type of a whole number -> its bytes."""


def _value(payload: bytes, at: int, kind: int) -> tuple[Any, int]:
    if kind == 0:
        return None, at
    if kind in _WIDTHS:
        end = at + _WIDTHS[kind]
        return int.from_bytes(payload[at:end], "big", signed=True), end
    if kind == 7:
        return struct.unpack(">d", payload[at : at + 8])[0], at + 8
    if kind in (8, 9):
        return kind - 8, at
    if kind < 12:
        raise BrokenError
    end = at + (kind - 12) // 2
    if end > len(payload):
        raise BrokenError
    part = payload[at:end]
    return (part.decode("utf-8") if kind % 2 else part), end


def _varint(data: bytes, at: int) -> tuple[int, int]:
    """(number, where it ends): seven bits a byte, eight in the ninth (1.6)."""
    number = 0
    for place in range(8):
        byte = data[at + place]
        number = number << 7 | byte & 0x7F
        if byte < 0x80:
            return number, at + place + 1
    number = number << 8 | data[at + 8]
    return number - 2**64 if number >= 2**63 else number, at + 9
