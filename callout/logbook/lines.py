"""The lines of an export and the rows they stand for, both ways.

Rule of this file: pure; a line is a dict as it stands in JSON, a row is a tuple with every
column of its table (tables.py). What a row becomes, becomes that row again, to the last
byte of a text, bit of a float and byte of a sound; what is not of that form is a ValueError
that says what was found.
"""

from __future__ import annotations

import base64
import json
import math
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from callout.engine.events import Reading
from callout.logbook import codec, samples
from callout.logbook.stamp import Stamp
from callout.logbook.tables import TABLES, WHEN

Line = dict[str, Any]
Row = tuple[Any, ...]

TABLE_OF = {
    "session": "sessions", "event": "entries", "fact": "entries", "samples": "samples",
    "clip": "clips", "act": "acts", "end": "ends",
}  # fmt: skip
"""What a line is -> the table its row is of."""


def line_of(table: str, row: Row) -> Line:
    """The line that stands for a row."""
    columns = dict(zip(TABLES[table].all, row, strict=True))
    make = {"entries": _entry_line, "samples": _samples_line, "clips": _clip_line}.get(table)
    what = next(word for word, of in TABLE_OF.items() if of == table)
    return make(columns) if make is not None else {"line": what} | columns


def row_of(line: Line) -> tuple[str, Row]:
    """(table, row) of a line; ValueError says what does not fit."""
    what = line.get("line")
    if not isinstance(what, str) or what not in TABLE_OF:
        raise ValueError(f"it is no line of {', '.join(TABLE_OF)}, but {what!r}")
    fields = _FIELDS[what]
    if what in ("event", "fact") and "text" in line:
        fields = tuple("text" if name == "data" else name for name in fields)
    missing = [name for name in fields if name not in line]
    unknown = [name for name in line if name != "line" and name not in fields]
    if missing or unknown:
        raise ValueError(
            f"a line {what!r} has the fields {', '.join(fields)}; "
            + (f"{missing[0]!r} is missing" if missing else f"{unknown[0]!r} is not known")
        )
    for name in fields:
        _CHECKS.get(name, _text)(name, line[name])
    Stamp(*(line[name] for name in WHEN))
    return TABLE_OF[what], _MAKERS.get(what, _plain_row)(what, line)


def _entry_line(columns: dict[str, Any]) -> Line:
    event, about = columns.pop("event"), columns.pop("about")
    kind, data = columns.pop("kind"), columns.pop("data")
    line: Line = {"line": kind, "seq": columns.pop("seq"), "session": columns.pop("session")}
    if kind == "fact":
        line["event"] = event
    line["name"] = columns.pop("name")
    if kind == "fact":
        line["about"] = about
    read = json.loads(data)
    return line | ({"data": read} if _compact(read) == data else {"text": data}) | columns


def _compact(data: object) -> str:
    return json.dumps(data, ensure_ascii=True, separators=(",", ":"))


def _samples_line(columns: dict[str, Any]) -> Line:
    noted = samples.unpack(columns.pop("data"))
    readings = [
        [reading.gauge, str(reading.value), _written(reading.at), _written(now)]
        for now, reading in noted
    ]
    return {"line": "samples"} | columns | {"readings": readings}


def _clip_line(columns: dict[str, Any]) -> Line:
    sound = base64.b64encode(columns["sound"]).decode("ascii")
    return {"line": "clip"} | columns | {"sound": sound}


def _entry_row(what: str, line: Line) -> Row:
    data = line["text"] if "text" in line else _compact(line["data"])
    if what == "event":
        codec.event_from(line["name"], data)
        event, about = None, ""
    else:
        fact = codec.record_from(data)
        event, about = line["event"], line["about"]
        if (fact.fact, fact.about) != (line["name"], line["about"]):
            raise ValueError("its data tell of another fact than its name")
        if event >= line["seq"]:
            raise ValueError(f"a fact follows from an event before it, not from entry {event}")
    head = (line["seq"], line["session"], event, what, line["name"], about, data)
    return (*head, *_when(line))


def _samples_row(what: str, line: Line) -> Row:
    del what
    noted = []
    for one in line["readings"]:
        if not isinstance(one, list) or [type(part) for part in one[:2]] != [str, str]:
            raise ValueError("a reading is a gauge, a value as text, and two times")
        if len(one) != 4:
            raise ValueError(f"a reading has four parts, not {len(one)}")
        gauge, value, at, now = one
        noted.append((_time("now", now), Reading(gauge, Decimal(value), _time("at", at))))
    head = (line["batch"], line["session"], line["after"], len(noted), samples.pack(noted))
    return (*head, *_when(line))


def _plain_row(what: str, line: Line) -> Row:
    table = TABLES[TABLE_OF[what]]
    values = dict(line)
    for name in ("now", "boot", "began", "seconds"):
        if name in values:
            values[name] = float(values[name])
    if what == "clip":
        values["sound"] = base64.b64decode(line["sound"], validate=True)
    return tuple(values[name] for name in table.all)


def _when(line: Line) -> tuple[float, str, float, str]:
    return (float(line["now"]), line["wall"], float(line["boot"]), line["boot_id"])


def _text(name: str, value: object) -> None:
    if not isinstance(value, str):
        raise ValueError(f"{name!r} must be a text, not {value!r:.40}")
    if any("\ud800" <= character <= "\udfff" for character in value):
        raise ValueError(f"{name!r} holds half a surrogate pair, which is no character")


def _whole(name: str, value: object) -> None:
    if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value < 2**63:
        raise ValueError(f"{name!r} must be a whole number, not {value!r:.40}")


def _number(name: str, value: object) -> float:
    if not isinstance(value, (int, float)) or isinstance(value, bool) or not math.isfinite(value):
        raise ValueError(f"{name!r} must be a number, not {value!r:.40}")
    return float(value)


def _written(seconds: float) -> float | str:
    """As the codec has it: JSON has no word for what is not finite."""
    return seconds if math.isfinite(seconds) else str(seconds)


def _time(name: str, value: object) -> float:
    return float(value) if value in ("nan", "inf", "-inf") else _number(name, value)


def _object(name: str, value: object) -> None:
    if not isinstance(value, dict):
        raise ValueError(f"{name!r} must be a JSON object, not {value!r:.40}")


def _rows(name: str, value: object) -> None:
    if not isinstance(value, list):
        raise ValueError(f"{name!r} must be a JSON array, not {value!r:.40}")


_CHECKS: dict[str, Callable[[str, Any], object]] = {
    **dict.fromkeys(
        ("session", "seq", "event", "batch", "after", "piece", "act", "squawk"), _whole
    ),
    **dict.fromkeys(("now", "boot", "began", "seconds"), _number),
    "data": _object,
    "readings": _rows,
}

_FIELDS: dict[str, tuple[str, ...]] = {
    what: TABLES[table].all for what, table in TABLE_OF.items()
} | {
    "event": ("seq", "session", "name", "data", *WHEN),
    "fact": ("seq", "session", "event", "name", "about", "data", *WHEN),
    "samples": ("batch", "session", "after", "readings", *WHEN),
}

_MAKERS: dict[str, Callable[[str, Line], Row]] = {
    "event": _entry_row, "fact": _entry_row, "samples": _samples_row,
}  # fmt: skip
