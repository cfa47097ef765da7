"""How a logbook file came to look as it does: named steps, each taken once.

Rule of this file: a step is never changed once a logbook in use has taken it; a
new shape is a new step at the end, in SQLite's words (dialect.py has PostgreSQL's).
Each runs in one transaction together with the row that records it. `pending` and
`applied` only read.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from uuid import uuid4

from callout.logbook.dialect import Connection, has, is_sqlite, statements
from callout.logbook.errors import NewerError
from callout.logbook.places import Place
from callout.logbook.squawk_tables import ACTS, CLIPS, SQUAWK_FACTS
from callout.logbook.views import VIEWS
from callout.logbook.whole_facts import indexes

APPLICATION_ID = 0x436C4F74
"""Marks the file's header as ours ("ClOt"), so that another's database is never touched."""

_TABLES = """
CREATE TABLE sessions (
    session INTEGER PRIMARY KEY AUTOINCREMENT,
    aircraft TEXT NOT NULL,
    revision TEXT NOT NULL,
    file TEXT NOT NULL,
    fingerprint TEXT NOT NULL,
    now REAL NOT NULL,
    wall TEXT NOT NULL,
    boot REAL NOT NULL,
    boot_id TEXT NOT NULL
) STRICT;

CREATE TABLE entries (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    session INTEGER NOT NULL REFERENCES sessions (session),
    event INTEGER REFERENCES entries (seq),
    kind TEXT NOT NULL CHECK (kind IN ('event', 'fact')),
    name TEXT NOT NULL,
    about TEXT NOT NULL,
    data TEXT NOT NULL CHECK (json_valid(data)),
    now REAL NOT NULL,
    wall TEXT NOT NULL,
    boot REAL NOT NULL,
    boot_id TEXT NOT NULL,
    CHECK ((kind = 'fact') = (event IS NOT NULL))
) STRICT;

CREATE INDEX entries_of_session ON entries (session);

CREATE TABLE ends (
    session INTEGER PRIMARY KEY REFERENCES sessions (session),
    how TEXT NOT NULL,
    now REAL NOT NULL,
    wall TEXT NOT NULL,
    boot REAL NOT NULL,
    boot_id TEXT NOT NULL
) STRICT;
"""

# INSERT OR REPLACE deletes without firing a delete trigger (sqlite.org/lang_conflict.html),
# so a number that is taken is refused before the insert.  A number that SQLite is to
# choose shows as NULL or -1 here (sqlite.org/lang_createtrigger.html): never taken.
_GUARDS = """
CREATE TRIGGER {table}_keep_{verb} BEFORE {verb} ON {table}
BEGIN
SELECT RAISE(ABORT, 'a logbook is append only: nothing in {table} is changed or removed');
END;
"""

_GUARD_NUMBER = """
CREATE TRIGGER {table}_keep_number BEFORE INSERT ON {table}
WHEN EXISTS (SELECT 1 FROM {table} WHERE {key} = NEW.{key})
BEGIN SELECT RAISE(ABORT, 'a logbook is append only: this number in {table} is taken'); END;
"""

_GUARD_ENTRIES = """
CREATE TRIGGER entries_of_open_session BEFORE INSERT ON entries
WHEN EXISTS (SELECT 1 FROM ends WHERE session = NEW.session)
BEGIN SELECT RAISE(ABORT, 'this session has ended, nothing more is written to it'); END;

CREATE TRIGGER facts_of_their_event BEFORE INSERT ON entries
WHEN NEW.kind = 'fact' AND NOT EXISTS (
    SELECT 1 FROM entries WHERE seq = NEW.event AND session = NEW.session AND kind = 'event'
)
BEGIN SELECT RAISE(ABORT, 'a fact refers to an event of its own session'); END;
"""


def _first(connection: Connection) -> None:
    """Make sessions, their entries and ends, append only, with views for people."""
    if is_sqlite(connection):
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    script = _TABLES + _GUARD_ENTRIES
    for table, key in (("sessions", "session"), ("entries", "seq"), ("ends", "session")):
        script += _GUARD_NUMBER.format(table=table, key=key)
        script += "".join(_GUARDS.format(table=table, verb=verb) for verb in ("UPDATE", "DELETE"))
    _run(connection, script + VIEWS)


_SAMPLES = """
CREATE TABLE samples (
    batch INTEGER PRIMARY KEY AUTOINCREMENT,
    session INTEGER NOT NULL REFERENCES sessions (session),
    after INTEGER NOT NULL,
    readings INTEGER NOT NULL,
    data BLOB NOT NULL,
    now REAL NOT NULL,
    wall TEXT NOT NULL,
    boot REAL NOT NULL,
    boot_id TEXT NOT NULL
) STRICT;

CREATE INDEX samples_of_session ON samples (session);

CREATE TRIGGER samples_of_open_session BEFORE INSERT ON samples
WHEN EXISTS (SELECT 1 FROM ends WHERE session = NEW.session)
BEGIN SELECT RAISE(ABORT, 'this session has ended, nothing more is written to it'); END;
"""


def _samples(connection: Connection) -> None:
    """Make room for readings that nothing followed from: many to a row, see samples.py."""
    script = _SAMPLES + _GUARD_NUMBER.format(table="samples", key="batch")
    script += "".join(_GUARDS.format(table="samples", verb=verb) for verb in ("UPDATE", "DELETE"))
    _run(connection, script)


COUNTED = (
    "kind = 'fact' AND name IN ('counted', 'count ended', 'count goes on', 'count taken back', "
    "'count set back', 'count restored', 'count given back', 'run-down')"
)
"""The few facts that history.py reads, as the index knows them: a query that is to use
it says the same, word for word (sqlite.org/partialindex.html)."""


def _counted_facts(connection: Connection) -> None:
    """Find the few facts that are counted among many entries."""
    _run(connection, f"CREATE INDEX counted_facts ON entries (seq) WHERE {COUNTED};")


TRENDING = (
    "kind = 'fact' AND name IN ('start watched', 'run-down', 'cool-down started', "
    "'cool-down complete', 'duty refused', 'not understood', 'wrong answer', 'out of range', "
    "'no answer', 'quick answer', 'deferred', 'skipped', 'overridden', 'time missed')"
)
"""The facts that trending.py compares, as the index knows them."""


def _trending_facts(connection: Connection) -> None:
    """Find the facts that are compared over sessions among all the others."""
    script = f"CREATE INDEX trending_facts ON entries (session, name, about) WHERE {TRENDING};"
    _run(connection, script)


def _clips_and_acts(connection: Connection) -> None:
    """Make room for recordings, which may be removed, and for what is done about squawks."""
    script = CLIPS + ACTS + SQUAWK_FACTS + _GUARDS.format(table="clips", verb="UPDATE")
    for table, key in (("clips", "piece"), ("acts", "act")):
        script += _GUARD_NUMBER.format(table=table, key=key)
    script += "".join(_GUARDS.format(table="acts", verb=verb) for verb in ("UPDATE", "DELETE"))
    _run(connection, script)


_ORIGINS = """
CREATE TABLE identity (id TEXT PRIMARY KEY) STRICT;

CREATE TABLE origins (
    writer TEXT NOT NULL,
    number INTEGER NOT NULL,
    session INTEGER NOT NULL REFERENCES sessions (session),
    known INTEGER NOT NULL,
    PRIMARY KEY (writer, number)
) STRICT;

CREATE INDEX origins_of_session ON origins (session);

CREATE TABLE delivered (
    session INTEGER NOT NULL REFERENCES sessions (session),
    part TEXT NOT NULL,
    upto INTEGER NOT NULL,
    PRIMARY KEY (session, part)
) STRICT;
"""


def _origins(connection: Connection) -> None:
    """Know which sessions were not written here, and how much of them has come."""
    guards = "".join(_GUARDS.format(table="origins", verb=verb) for verb in ("UPDATE", "DELETE"))
    _run(connection, _ORIGINS + guards)
    connection.execute("INSERT INTO identity (id) VALUES (?)", (uuid4().hex,))


TICKED = "kind = 'fact' AND name = 'ticked'"
"""The facts that are counted where sessions are listed, as the index knows them."""


def _ticked_facts(connection: Connection) -> None:
    """Count what was ticked in each session without reading all of it."""
    _run(connection, f"CREATE INDEX ticked_facts ON entries (session) WHERE {TICKED};")


def _whole_facts(connection: Connection) -> None:
    """Read what counts and what is compared from its index alone."""
    if is_sqlite(connection):
        _run(connection, indexes(COUNTED))


Steps = tuple[tuple[str, Callable[[Connection], None]], ...]

MIGRATIONS: Steps = (
    ("sessions and entries", _first),
    ("samples", _samples),
    ("counted facts", _counted_facts),
    ("trending facts", _trending_facts),
    ("clips and acts", _clips_and_acts),
    ("origins", _origins),
    ("ticked facts", _ticked_facts),
    ("whole facts", _whole_facts),
)
"""Every step, oldest first."""

ONLY_FASTER = frozenset(
    {"trending facts", "clips and acts", "origins", "ticked facts", "whole facts"}
)
"""Steps without which a logbook can be read all the same: slower, or with nothing there."""


def applied(connection: Connection) -> list[str]:
    """Name the steps the file has taken, in order; none for a new file."""
    if not has(connection, "migrations"):
        return []
    rows = connection.execute("SELECT name FROM migrations ORDER BY step")
    return [str(name) for (name,) in rows]


def pending(connection: Connection, path: Place, steps: Steps = MIGRATIONS) -> list[str]:
    """Name the steps still to take; NewerError if the file took one unknown here."""
    taken, known = applied(connection), [name for name, _ in steps]
    if taken != known[: len(taken)]:
        unknown = next((name for name in taken if name not in known), taken[-1])
        raise NewerError(
            f"The logbook {path} was written by a newer callout (its step {unknown!r} is not "
            "known here). It was left as it is. Update callout, or give another file with "
            "--logbook FILE.db."
        )
    return known[len(taken) :]


def migrate(connection: Connection, path: Place, steps: Steps = MIGRATIONS) -> None:
    """Take the steps that are pending, each whole or not at all."""
    functions = dict(steps)
    for name in pending(connection, path, steps):
        connection.execute("BEGIN IMMEDIATE")
        try:
            if name not in applied(connection):  # another machine may have been quicker
                _record(connection, name)
                functions[name](connection)
            connection.execute("COMMIT")
        except BaseException:
            connection.rollback()
            raise


def _record(connection: Connection, name: str) -> None:
    connection.execute(
        "CREATE TABLE IF NOT EXISTS migrations ("
        "step INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, taken TEXT NOT NULL) STRICT"
    )
    taken = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    connection.execute("INSERT INTO migrations (name, taken) VALUES (?, ?)", (name, taken))


def _run(connection: Connection, script: str) -> None:
    """Run each statement by itself, within the open transaction."""
    for statement in statements(script):
        connection.execute(statement)
