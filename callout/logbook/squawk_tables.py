"""The tables of recordings, and of what was done about squawks outside a session.

Rule of this file: it only says what they are; migrations.py makes them. What was
done is append only. A recording is talk, and its owner may have it removed: it is
never changed, but it may be deleted (purging.py), and nothing refers to it.
"""

from __future__ import annotations

CLIPS = """
CREATE TABLE clips (
    piece INTEGER PRIMARY KEY AUTOINCREMENT,
    session INTEGER NOT NULL REFERENCES sessions (session),
    name TEXT NOT NULL,
    format TEXT NOT NULL,
    began REAL NOT NULL,
    seconds REAL NOT NULL,
    sound BLOB NOT NULL,
    now REAL NOT NULL,
    wall TEXT NOT NULL,
    boot REAL NOT NULL,
    boot_id TEXT NOT NULL
) STRICT;

CREATE INDEX clips_of_session ON clips (session, name, piece);
"""
"""Pieces of recordings, each a whole sound file: `name` is the squawk's number in its
session, or "session" for the recording of a whole one; `began` is session time."""

ACTS = """
CREATE TABLE acts (
    act INTEGER PRIMARY KEY AUTOINCREMENT,
    session INTEGER NOT NULL REFERENCES sessions (session),
    squawk INTEGER NOT NULL,
    what TEXT NOT NULL,
    who TEXT NOT NULL,
    how TEXT NOT NULL,
    now REAL NOT NULL,
    wall TEXT NOT NULL,
    boot REAL NOT NULL,
    boot_id TEXT NOT NULL
) STRICT;

CREATE INDEX acts_of_session ON acts (session);
"""
"""What was done by command: "closed", "grounded", "transcribed", "recording removed";
`squawk` is its number in its session, 0 for the session's own recording."""

OF_SQUAWKS = (
    "kind = 'fact' AND name IN ('squawk opened', 'squawk noted', 'squawk kept', "
    "'squawk dropped', 'squawk closed', 'squawk reopened', 'aircraft grounded', "
    "'grounding taken back')"
)
"""The few facts that squawks are made of, as the index knows them: a query that is to use
it says the same, word for word (sqlite.org/partialindex.html)."""

SQUAWK_FACTS = f"CREATE INDEX squawk_facts ON entries (seq) WHERE {OF_SQUAWKS};\n"
