r"""Sessions as text for other programs and other logbooks: JSON lines and CSV.

Rule of this file: what is exported is what is stored, and all of it; importing.py takes
both forms back without loss.

JSON lines (one RFC 8259 object a line, ASCII, ended by "\n"): `line` says what it is.
  session  session, aircraft, revision, file, fingerprint, and when it began
  event    seq, session, name, data (the event's fields), and when
  fact     seq, session, event (seq of its event), name, about, data, and when
  samples  batch, session, after (seq of the entry they came after), readings: gauge, value,
           at (when it was sampled) and now of each reading that nothing followed from; when
  clip     piece, session, name, format, began, seconds, sound (base64, RFC 4648), and when
  act      act, session, squawk, what, who, how, and when
  end      session, how, and when; absent while a session has no end mark
"when" is now (session s), wall (UTC), boot (s), boot_id. Floats are written with
the fewest digits that read back as the same float.

CSV (RFC 4180): a record for each line, `kind` says what it is, `seq` is its number (seq,
batch, piece, act); what has no column of its own stands in `data` as a JSON object.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator
from typing import Any

from callout.logbook.lines import Line, line_of
from callout.logbook.reading import Readable
from callout.logbook.tables import TABLES, WHEN

CSV_COLUMNS = (
    "seq", "session", "aircraft", "revision", "kind", "event", "name", "about", "data",
    "now", "wall", "boot", "boot_id",
)  # fmt: skip
"""Header of the CSV form; `event` is empty but for a fact."""

NUMBER_OF = {"event": "seq", "fact": "seq", "samples": "batch", "clip": "piece", "act": "act"}
"""What a line is -> its field that stands in the column `seq`."""

_ORDER = ("sessions", "entries", "samples", "clips", "acts", "ends")
"""The tables as they follow one another within a session."""


def lines(logbook: Readable, sessions: Iterable[int]) -> Iterator[Line]:
    """Every line, session by session in the order given."""
    there = [TABLES[name] for name in _ORDER if logbook.has(name)]
    for number in sessions:
        logbook.session(number)
        for table in there:
            query = (
                f"SELECT {', '.join(table.all)} FROM {table.name} "  # noqa: S608 - our own words
                f"WHERE session = ? ORDER BY {table.key}"
            )
            for row in logbook.select(query, number):
                yield line_of(table.name, tuple(row))


def json_lines(logbook: Readable, sessions: Iterable[int]) -> Iterator[str]:
    """Yield each line with its end."""
    for line in lines(logbook, sessions):
        yield json.dumps(line, allow_nan=False) + "\n"


def csv_lines(logbook: Readable, sessions: Iterable[int]) -> Iterator[str]:
    """Yield the header and each record with its CRLF, quoted by RFC 4180 section 2."""
    yield _csv_line(CSV_COLUMNS)
    session: Line = {}
    for line in lines(logbook, sessions):
        session = line if line["line"] == "session" else session
        yield _csv_line(_record(session, line))


def _record(session: Line, line: Line) -> list[object]:
    what = line["line"]
    cells: dict[str, Any] = {"kind": what, "seq": line.get(NUMBER_OF.get(what, ""), "")}
    own = ("session", "event", "name", "about", *WHEN)
    cells |= {name: line[name] for name in own if name in line}
    cells |= {name: session[name] for name in ("aircraft", "revision")}
    if what in ("event", "fact"):
        cells["data"] = line["text"] if "text" in line else _compact(line["data"])
    else:
        taken = {"line", NUMBER_OF.get(what, ""), *own}
        taken |= {"aircraft", "revision"} if what == "session" else set()
        rest = {name: value for name, value in line.items() if name not in taken}
        cells["data"] = _compact(rest)
    return [cells.get(column, "") for column in CSV_COLUMNS]


def _compact(data: object) -> str:
    return json.dumps(data, separators=(",", ":"), allow_nan=False)


def _csv_line(values: Iterable[object]) -> str:
    line = io.StringIO(newline="")
    csv.writer(line, lineterminator="\r\n").writerow(values)
    return line.getvalue()
