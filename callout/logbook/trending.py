"""The few facts that are compared over many sessions, found without reading the others.

Rule of this file: it only reads, by indexes that hold all of it; sessions made from a
recording are nobody's past.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from callout.logbook.codec import pairs_of
from callout.logbook.stamp import RECORDING
from callout.logbook.store import Logbook
from callout.logbook.whole_facts import FIGURED, TALLIED

_MINE = (
    "session IN (SELECT session FROM sessions "  # noqa: S608 - our own words
    f"WHERE aircraft = ? AND boot_id <> '{RECORDING}')"
)


@dataclass(frozen=True, slots=True)
class Figures:
    """One fact: the session it is of, its name, what it is about, and its pairs."""

    session: int
    name: str
    about: str
    data: dict[str, str]


def aircraft_names(logbook: Logbook) -> list[tuple[str, str, int]]:
    """(name, file of its latest session, how many sessions), the latest flown first."""
    query = (
        "SELECT s.aircraft, s.file, flown.often FROM (SELECT count(*) AS often, "
        "max(session) AS latest FROM sessions WHERE boot_id <> ? GROUP BY aircraft) AS flown "
        "JOIN sessions s ON s.session = flown.latest ORDER BY flown.latest DESC"
    )
    return [(name, file, count) for name, file, count in logbook.select(query, RECORDING)]


def figures(logbook: Logbook, aircraft: str) -> Iterator[Figures]:
    """Facts with figures of one aircraft, session by session, oldest first."""
    for session, name, about, data in logbook.select(figures_query(logbook), aircraft):
        yield Figures(session, name, about, pairs_of(session, name, data))


def tallies(logbook: Logbook, aircraft: str) -> list[tuple[str, str, int]]:
    """(fact, what it is about, how often) of one aircraft."""
    rows = logbook.select(tallies_query(logbook), aircraft)
    # In an order of our own: a database gives groups as it likes.
    return sorted((str(name), str(about), int(often)) for name, about, often in rows)


def figures_query(logbook: Logbook) -> str:
    """SQL of `figures`; its one parameter is the aircraft."""
    columns = "session, name, about, data"
    return _query(logbook, columns, FIGURED, "trending_figures") + " ORDER BY session, seq"


def tallies_query(logbook: Logbook) -> str:
    """SQL of `tallies`; its one parameter is the aircraft."""
    columns = "name, about, count(*)"
    return _query(logbook, columns, TALLIED, "trending_tallies") + " GROUP BY name, about"


def _query(logbook: Logbook, columns: str, which: str, index: str) -> str:
    # `which` word for word, or the index is not used (sqlite.org/partialindex.html); a
    # logbook that was not opened for a session since it was invented does not have it yet.
    by = f"INDEXED BY {index}" if logbook.has(index) else ""
    return f"SELECT {columns} FROM entries {by} WHERE {which} AND {_MINE}"  # noqa: S608


def answers(logbook: Logbook, session: int, items: frozenset[str]) -> Iterator[str]:
    """What ticked these items in a session."""
    query = (
        "SELECT about, data FROM entries WHERE session = ? AND kind = 'fact' AND name = 'ticked' "
        "ORDER BY seq"
    )
    for about, data in logbook.select(query, session):
        if about in items:
            yield pairs_of(session, "ticked", data).get("answer", "")
