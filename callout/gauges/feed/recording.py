"""A feed as a file, and back: CSV whose time begins at 0.

Rule of this file: numbers are written with the fewest digits that give the same
number back. A line that came without a time gets ours, so that it can be
replayed at its own pace.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from callout.gauges.feed.lines import Lines
from callout.gauges.feed.parsing import Malformed, Name, Parser, Row
from callout.gauges.feed.places import Place, Way
from callout.gauges.feed.sources import chunks


class Written:
    """Rows as lines of text: a head whenever the columns change, then a line a row."""

    def __init__(self) -> None:
        self._names: tuple[Name, ...] | None = None
        self._zero: float | None = None

    def lines(self, row: Row, came: float) -> Iterator[str]:
        """What to write for a row that came at this time (s)."""
        time = came if row.time is None else row.time
        if self._zero is None:
            self._zero = time
        if row.names != self._names:
            self._names = row.names
            yield ",".join(("time [s]", *map(titled, row.names)))
        yield ",".join((f"{time - self._zero:.3f}", *map(_cell, row.values)))


def titled(name: Name) -> str:
    """A column's name as it stands in a head."""
    return f"{name.column} [{name.unit}]" if name.unit else name.column


def as_json(row: Row) -> str:
    """A row as a JSON line, which is whole without a head: for datagrams."""
    fields: dict[str, float | None] = {} if row.time is None else {"time": row.time}
    fields.update(zip(map(titled, row.names), row.values, strict=True))
    return json.dumps({k: None if v is not None and v - v != 0.0 else v for k, v in fields.items()})


def _cell(value: float | None) -> str:
    if value is None:
        return ""
    return repr(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)


class Read(NamedTuple):
    """One line of a file: its row, or why it has none ("" for a head)."""

    number: int
    row: Row | None
    why: str = ""


def rows(file: Path) -> Iterator[Read]:
    """All lines of a recorded feed.  Raises FeedProblem if the file cannot be read."""
    lines, parser = Lines(), Parser()

    def read(line: bytes | None) -> Read:
        try:
            if line is None:
                raise Malformed("it is too long")
            return Read(lines.number, parser.line(line))
        except Malformed as error:
            return Read(lines.number, None, str(error))

    for chunk in chunks(Place(Way.FILE, str(file))):
        yield from map(read, lines.take(chunk or b""))
    yield from map(read, lines.end())
