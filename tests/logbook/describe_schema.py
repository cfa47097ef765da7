"""Write callout/logbook/TABLES.md, the page about the logbook's tables, from a logbook itself.

Rule of this file: names and types are asked of a real file; only what they mean stands
here, and a table or column without its meaning is an error. `make schema` runs it.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
from contextlib import closing
from pathlib import Path

from callout.logbook.store import Logbook

PAGE = Path(__file__).parents[2] / "callout" / "logbook" / "TABLES.md"

HEAD = """\
# The logbook's tables

This page is made from a logbook by `make schema`; a test fails when it is stale.

A logbook is a SQLite file (WAL mode, `synchronous=FULL`), which any SQLite tool opens, or a
PostgreSQL database with the same tables and views.
Nothing but callout should write to it: sessions, entries, samples, ends, acts and origins
are append only, and triggers refuse to change or remove a row.
Recordings (`clips`) are talk and may be removed: `callout log purge`.
PostgreSQL says `bigint` for INTEGER, `double precision` for REAL and `bytea` for BLOB; its
text cannot hold a NUL, which is spelled out (`\\x00`).

Every row says when it was written:

| column | meaning |
|---|---|
"""

WHEN = {
    "now": "session seconds, from 0",
    "wall": "UTC by the machine's clock, ISO 8601",
    "boot": "seconds since the machine was started, sleep included",
    "boot_id": 'which start of the machine that was; "recording" for sessions made from one',
}

TABLES = {
    "sessions": ("one row a session", {
        "session": "its number",
        "aircraft": "name of the aircraft",
        "revision": "revision of its file",
        "file": "the file, as it was given",
        "fingerprint": "digest of all that was read from it",
    }),
    "entries": ("what happened, and what followed from it, in this order", {
        "seq": "its number; grows through the whole logbook",
        "session": "its session",
        "event": "of a fact: the event that it followed from",
        "kind": '"event" or "fact"',
        "name": "which event (callout/engine/events.py) or fact",
        "about": "of a fact: the list, or list/item",
        "data": "fields of the event, or fact, about and data of the fact, as JSON (codec.py)",
    }),
    "samples": ("readings of a feed that nothing followed from, many to a row", {
        "batch": "its number",
        "session": "its session",
        "after": "the entry that they came after",
        "readings": "how many",
        "data": "JSON, compressed by zlib (samples.py)",
    }),
    "ends": ("how a session ended; a session without a row has not", {
        "session": "which",
        "how": "in words",
    }),
    "clips": ("recordings: of squawks, and of sessions where the owner wants that", {
        "piece": "its number; a recording may have several",
        "session": "its session",
        "name": 'number of the squawk in its session, or "session"',
        "format": '"flac" or "opus"',
        "began": "session second of its first sample",
        "seconds": "its length",
        "sound": "a whole sound file",
    }),
    "acts": ("what was done about a squawk by command", {
        "act": "its number",
        "session": "the session the squawk was opened in",
        "squawk": "its number there; 0 for the recording of the session",
        "what": "what was done",
        "who": "by whom",
        "how": "how, in words",
    }),
    "origins": ("sessions that came from another logbook, by import or delivery", {
        "writer": 'identity of that logbook, or "import …" for one import',
        "number": "its number there",
        "session": "its number here",
        "known": "1 if it was here already, by another way",
    }),
    "delivered": ("on a server: how much of a machine's session has come", {
        "session": "its number here",
        "part": "entries, samples, clips or acts; or looked: what it was told when it began",
        "upto": "key of the last row, in the machine's file; looked: the last entry here",
    }),
    "identity": ("what this logbook is called by a server", {"id": "made by chance"}),
    "migrations": ("steps that made these tables, each taken once", {
        "step": "its number",
        "name": "its name (callout/logbook/migrations.py)",
        "taken": "when, UTC",
    }),
}  # fmt: skip

VIEWS = {
    "facts": "every fact: list, item, what, details",
    "ticks": "what was answered, item by item",
    "lists": "what happened to whole lists",
    "readings": "values that something followed from",
    "ended": "sessions with how and when they ended, and what was ticked",
}

TAIL = """
## Examples

```sql
SELECT wall, list, item, details FROM ticks WHERE session = 12;
SELECT aircraft, began, ended, how FROM ended ORDER BY session DESC LIMIT 10;
SELECT count(*) FROM facts WHERE fact = 'overridden';
```

`callout log export` gives all of it as JSON lines or CSV; what each line holds stands at the
head of `callout/logbook/export.py`.
"""


def page() -> str:
    """The page as it has to be."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.db"
        Logbook.open(path).close()
        with closing(sqlite3.connect(path)) as base:
            return HEAD + _rows(WHEN) + _tables(base) + _views(base) + TAIL


def _rows(meanings: dict[str, str]) -> str:
    return "".join(f"| {name} | {meaning} |\n" for name, meaning in meanings.items())


def _names(base: sqlite3.Connection, kind: str) -> set[str]:
    query = "SELECT name FROM sqlite_schema WHERE type = ? AND name NOT LIKE 'sqlite_%'"
    return {name for (name,) in base.execute(query, (kind,))}


def _tables(base: sqlite3.Connection) -> str:
    _same("tables", _names(base, "table"), set(TABLES))
    text = ""
    for table, (meaning, columns) in TABLES.items():
        found = {row[1]: row[2] for row in base.execute(f"PRAGMA table_info({table})")}
        own = {name: kind for name, kind in found.items() if name not in WHEN}
        _same(f"columns of {table}", set(own), set(columns))
        text += f"\n## {table}\n\n{meaning[0].upper()}{meaning[1:]}"
        text += ", and when.\n" if len(own) < len(found) else ".\n"
        text += "\n| column | type | meaning |\n|---|---|---|\n"
        text += "".join(f"| {name} | {kind} | {columns[name]} |\n" for name, kind in own.items())
    return text


def _views(base: sqlite3.Connection) -> str:
    _same("views", _names(base, "view"), set(VIEWS))
    text = "\n## Views\n\n| view | columns | shows |\n|---|---|---|\n"
    for view, meaning in VIEWS.items():
        columns = ", ".join(row[1] for row in base.execute(f"PRAGMA table_info({view})"))
        text += f"| {view} | {columns} | {meaning} |\n"
    return text


def _same(what: str, found: set[str], described: set[str]) -> None:
    if found != described:
        raise ValueError(f"{what}: {found ^ described} is in one of logbook and description only")


if __name__ == "__main__":
    PAGE.parent.mkdir(exist_ok=True)
    PAGE.write_text(page(), encoding="utf-8")
    sys.stdout.write(f"{PAGE} is written.\n")
