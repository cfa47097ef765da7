r"""Sessions as text for other programs: JSON lines and CSV.

Rule of this file: what is exported is what is stored, column by column. JSON
lines hold everything; CSV holds the entries, for spreadsheets.

JSON lines (one RFC 8259 object a line, ASCII, ended by "\n"): `line` says what it is.
  session  session, aircraft, revision, file, fingerprint, and when it began
  event    seq, session, name, data (the event's fields), and when
  fact     seq, session, event (seq of its event), name, about, data, and when
  samples  session, after (seq of the entry they came after), readings: gauge, value, at
           (when it was sampled) and now of each reading that nothing followed from
  end      session, how, and when; absent while a session has no end mark
"when" is now (session s), wall (UTC), boot (s), boot_id. Floats are written with
the fewest digits that read back as the same float.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator
from typing import Any

from callout.logbook.rows import Entry, SessionRow
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook

CSV_COLUMNS = (
    "seq", "session", "aircraft", "revision", "kind", "event", "name", "about", "data",
    "now", "wall", "boot", "boot_id",
)  # fmt: skip
"""Header of the CSV form; `data` is JSON text, `event` is empty for an event."""


def json_lines(logbook: Logbook, sessions: Iterable[int]) -> Iterator[str]:
    """Yield each line with its end, session by session in the order given."""
    for number in sessions:
        session = logbook.session(number)
        yield _line("session", _head(session) | _when(session.began))
        for entry in logbook.entries(number):
            yield _line(entry.kind, _body(entry) | _when(entry.stamp))
        for after, noted in logbook.samples(number):
            readings = [[r.gauge, str(r.value), r.at, now] for now, r in noted]
            yield _line("samples", {"session": number, "after": after, "readings": readings})
        if session.ended is not None:
            yield _line("end", {"session": number, "how": session.how} | _when(session.ended))


def csv_lines(logbook: Logbook, sessions: Iterable[int]) -> Iterator[str]:
    """Yield the header and each record with its CRLF, quoted by RFC 4180 section 2."""
    yield _csv_line(CSV_COLUMNS)
    for number in sessions:
        session = logbook.session(number)
        for entry in logbook.entries(number):
            yield _csv_line(_csv_row(session, entry))


def _line(what: str, columns: dict[str, Any]) -> str:
    return json.dumps({"line": what} | columns, allow_nan=False) + "\n"


def _head(session: SessionRow) -> dict[str, Any]:
    return {
        "session": session.session,
        "aircraft": session.aircraft,
        "revision": session.revision,
        "file": session.file,
        "fingerprint": session.fingerprint,
    }


def _body(entry: Entry) -> dict[str, Any]:
    columns: dict[str, Any] = {"seq": entry.seq, "session": entry.session}
    if entry.kind == "fact":
        columns["event"] = entry.event
    columns["name"] = entry.name
    if entry.kind == "fact":
        columns["about"] = entry.about
    return columns | {"data": json.loads(entry.data)}


def _when(stamp: Stamp) -> dict[str, Any]:
    return {"now": stamp.now, "wall": stamp.wall, "boot": stamp.boot, "boot_id": stamp.boot_id}


def _csv_row(session: SessionRow, entry: Entry) -> tuple[object, ...]:
    stamp = entry.stamp
    event = "" if entry.event is None else entry.event
    return (
        entry.seq, entry.session, session.aircraft, session.revision, entry.kind, event,
        entry.name, entry.about, entry.data, stamp.now, stamp.wall, stamp.boot, stamp.boot_id,
    )  # fmt: skip


def _csv_line(values: Iterable[object]) -> str:
    line = io.StringIO(newline="")
    csv.writer(line, lineterminator="\r\n").writerow(values)
    return line.getvalue()
