"""Readings that nothing followed from, many to a row: as exact as entries, a tenth of their size.

Rule of this file: pure; values to bytes and back. What is read back is what was
noted, to the last digit, or EntryError.

Form: one JSON object (RFC 8259), compressed (zlib, RFC 1950): `gauges` names each
gauge once; `gauge`, `value`, `at` and `now` have a member for each reading: place in
`gauges`, the value's text, seconds of the sample, seconds of the step that took it.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Any

from callout.engine.events import Reading
from callout.logbook.errors import EntryError

Noted = tuple[float, Reading]
"""(session seconds of the step, the reading it took)."""

LARGEST = 16 * 2**20
"""Bytes of one row once it is unpacked: a second of a feed has some ten thousand."""


def pack(noted: Sequence[Noted]) -> bytes:
    """Write readings down."""
    gauges = list(dict.fromkeys(reading.gauge for _, reading in noted))
    places = {gauge: place for place, gauge in enumerate(gauges)}
    columns = {
        "gauges": gauges,
        "gauge": [places[reading.gauge] for _, reading in noted],
        "value": [str(reading.value) for _, reading in noted],
        "at": [float(reading.at) for _, reading in noted],
        "now": [float(now) for now, _ in noted],
    }
    return zlib.compress(json.dumps(columns, separators=(",", ":")).encode("ascii"))


def unpack(data: bytes) -> list[Noted]:
    """Read them back."""
    try:
        gauges, found = _members(data)
        rows = zip(found["gauge"], found["value"], found["at"], found["now"], strict=True)
        return [
            (float(now), Reading(str(gauges[place]), Decimal(value), float(at)))
            for place, value, at, now in rows
        ]
    except _BROKEN as error:
        raise _broken(error) from None


def columns(data: bytes) -> list[tuple[str, str, float]]:
    """(gauge, the value's text, seconds of the sample) of each: for whoever only looks back."""
    try:
        gauges, found = _members(data)
        names = [str(gauges[place]) for place in found["gauge"]]
        any(map(float, found["value"]))  # each is a number, or it raises
        return list(zip(names, found["value"], map(float, found["at"]), strict=True))
    except _BROKEN as error:
        raise _broken(error) from None


_BROKEN = (zlib.error, ValueError, TypeError, LookupError, InvalidOperation)


def _members(data: bytes) -> tuple[list[str], dict[str, list[Any]]]:
    reader = zlib.decompressobj()
    text = reader.decompress(data, LARGEST)
    if not reader.eof:
        raise ValueError("it is longer than it can be")
    found = json.loads(text)
    return found["gauges"], found


def _broken(error: Exception) -> EntryError:
    return EntryError(f"A row of readings cannot be read: {error}.")
