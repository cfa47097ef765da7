"""Indexes that hold all of the facts that are read over many sessions.

Rule of this file: it only says what they are; migrations.py makes them, in files alone.
Such facts lie apart by hundreds of others, so that looking each up in the file of ten
years is as many reads of the disk: minutes where nothing is in memory. A server keeps the
older indexes: its entries of an index have no room for a long text.
"""

from __future__ import annotations

FIGURED = (
    "kind = 'fact' AND name IN ('start watched', 'run-down', 'cool-down started', "
    "'cool-down complete', 'duty refused')"
)
"""The facts whose figures trending.py compares. Here and below: a query that is to use the
index says this word for word (sqlite.org/partialindex.html)."""

TALLIED = (
    "kind = 'fact' AND name IN ('not understood', 'wrong answer', 'out of range', 'no answer', "
    "'quick answer', 'deferred', 'skipped', 'overridden', 'time missed')"
)
"""The facts that it counts."""


def indexes(counted: str) -> str:
    """The statements that make them; `counted` are the facts that count across sessions.

    What they replace goes first: the new ones take its pages.
    """
    return f"""
DROP INDEX IF EXISTS counted_facts;
DROP INDEX IF EXISTS trending_facts;
CREATE INDEX counted_whole ON entries
    (seq, kind, session, name, about, data, wall, boot, boot_id) WHERE {counted};
CREATE INDEX trending_figures ON entries (session, seq, kind, name, about, data) WHERE {FIGURED};
CREATE INDEX trending_tallies ON entries (name, about, session, kind) WHERE {TALLIED};
"""
