"""One line of a feed -> names and numbers, or a sentence why not.

Rule of this file: it knows no gauge. A line is a CSV head, a CSV row or a JSON
object; anything else raises Malformed, and so does a number that is none. What
is empty is None, what is not finite stays what it is: both are no values, and
that is told elsewhere.
"""

from __future__ import annotations

import csv
import json
import re
from typing import Any, NamedTuple

MOST_COLUMNS = 64
LONGEST_NAME = 80
LONGEST_NUMBER = 32
"""Characters: a double has 24 at the most."""

LATEST_TIME = 1e11
"""Seconds: three thousand years from wherever the sender counts; what is beyond cannot be
waited for."""

TIME = "time"
"""The sender's clock, in seconds; "time [ms]" in milliseconds."""

_EMPTY = frozenset({"", "-", "null", "none"})
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?|[+-]?(nan|inf)", re.I)
_NAME = re.compile(r"([^,;\"'\[\]{}]+?) *(?:\[([^\[\]]{1,10})\])?")


class Malformed(ValueError):  # noqa: N818 - the name says what the line is
    """The line is not what a feed has; the text says what was found and expected."""


class NoHead(Malformed):
    """A row came before its head, as when one listens in to a stream that has begun."""


class Name(NamedTuple):
    """A column's name and the unit written after it ("" for none)."""

    column: str
    unit: str = ""


class Row(NamedTuple):
    """One line's numbers.

    Fields:
        names: the columns; the same object as long as they are the same
        values: one a column; None where nothing is given
        time: the sender's clock (s), None where it tells none
    """

    names: tuple[Name, ...]
    values: tuple[float | None, ...]
    time: float | None


class Parser:
    """Remembers the head of the table; one for each stream."""

    def __init__(self) -> None:
        self._names: tuple[Name, ...] = ()
        self._time: int | None = None
        self._scale = 1.0
        self._keys: tuple[str, ...] | None = None
        self._headed = False

    def line(self, line: bytes) -> Row | None:
        """The row of a line; None for a head or an empty line.  Raises Malformed."""
        try:
            text = line.decode("utf-8").strip().removeprefix("\ufeff")
        except UnicodeDecodeError:
            raise Malformed("it is not text in UTF-8") from None
        if not text:
            return None
        return self._json(text) if text[0] == "{" else self._csv(text)

    def _csv(self, text: str) -> Row | None:
        cells = _cells(text) if '"' in text else text.split(",")
        if len(cells) > MOST_COLUMNS:
            raise Malformed(f"it has {len(cells)} columns; expected at most {MOST_COLUMNS}")
        if self._headed and len(cells) == self._width():
            try:
                values = _plain(text, cells)
            except ValueError:
                return None if self._is_head(cells) else self._row(list(map(_number, cells)))
            return self._row(values)
        if self._is_head(cells):
            return None
        if not self._headed:
            raise NoHead("no head came before it; expected a line of column names first")
        raise Malformed(f"it has {len(cells)} columns; the head has {self._width()}")

    def _width(self) -> int:
        return len(self._names) + (self._time is not None)

    def _is_head(self, cells: list[str]) -> bool:
        """Take the cells as names if that is what they are."""
        stripped = [cell.strip() for cell in cells]
        if any(cell.lower() in _EMPTY or _NUMBER.fullmatch(cell) for cell in stripped):
            return False
        bare = {cell.partition("[")[0].strip() for cell in stripped}
        if self._headed and bare.isdisjoint(name.column for name in self._names):
            return False  # a row of words, not the head once more
        self._layout(tuple(stripped))
        self._headed = True
        return True

    def _layout(self, cells: tuple[str, ...]) -> None:
        names = [_name(cell) for cell in cells]
        columns = [name.column for name in names]
        twice = next((c for c in columns if columns.count(c) > 1), None)
        if twice is not None:
            raise Malformed(f'the column "{twice}" stands there twice')
        time = next((at for at, column in enumerate(columns) if column.lower() == TIME), None)
        scale = 1.0 if time is None else _time_scale(names.pop(time).unit)
        if not names:
            raise Malformed("there is no column beside the time")
        # All at once: after a head that is refused, rows still have the columns they had.
        self._names, self._time, self._scale = tuple(names), time, scale

    def _json(self, text: str) -> Row:
        try:
            found = json.loads(text, object_pairs_hook=_once)
        except (ValueError, RecursionError) as error:
            why = str(error) if isinstance(error, Malformed) else "it is not JSON"
            raise Malformed(why) from None
        keys = tuple(found)
        if keys != self._keys or self._headed:
            if not 0 < len(keys) <= MOST_COLUMNS:
                raise Malformed(f"it has {len(keys)} keys; expected 1 to {MOST_COLUMNS}")
            self._layout(keys)
            self._keys, self._headed = keys, False
        return self._row([_json_number(key, value) for key, value in found.items()])

    def _row(self, values: list[float | None]) -> Row:
        if self._time is None:
            return Row(self._names, tuple(values), None)
        time = values.pop(self._time)
        if time is None or not abs(time * self._scale) <= LATEST_TIME:
            raise Malformed("it tells no time in its column of times")
        return Row(self._names, tuple(values), time * self._scale)


def _plain(text: str, cells: list[str]) -> list[float | None]:
    """The quick way for a row of plain numbers.  Raises ValueError for anything else."""
    if "_" in text:  # Python's own spelling of long numbers
        raise ValueError
    return [float(cell) for cell in cells]


def _cells(text: str) -> list[str]:
    try:
        return next(csv.reader([text], strict=True))
    except csv.Error:
        raise Malformed("its quotes do not close") from None


def _number(cell: str) -> float | None:
    text = cell.strip()
    if text.lower() in _EMPTY:
        return None
    if len(text) > LONGEST_NUMBER or not _NUMBER.fullmatch(text):
        raise Malformed(f"{_shown(text)} is no number")
    return float(text)


def _json_number(key: str, value: object) -> float | None:
    if value is None:
        return None
    if isinstance(value, str):
        return _number(value)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise Malformed(f"{_shown(key)} has no number")
    try:
        return float(value)
    except OverflowError:
        raise Malformed(f"{_shown(key)} is too long a number") from None


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise Malformed("a key stands there twice")
    return found


def _name(cell: str) -> Name:
    match = _NAME.fullmatch(cell)
    if len(cell) > LONGEST_NAME or not match or not cell.isprintable():  # it will be shown
        raise Malformed(f'{_shown(cell)} is no column name; expected one such as "oil [bar]"')
    return Name(match[1].strip(), (match[2] or "").strip())


def _time_scale(unit: str) -> float:
    scales = {"": 1.0, "s": 1.0, "ms": 0.001}
    if unit not in scales:
        raise Malformed(f'the time is in {_shown(unit)}; expected "time [s]" or "time [ms]"')
    return scales[unit]


def _shown(text: str) -> str:
    """Part of a line as it can be shown: short, and nothing that moves a cursor."""
    clean = "".join(c if c.isprintable() else "?" for c in text[:24])
    return f'"{clean}{"..." if len(text) > 24 else ""}"'
