"""The few facts that are compared over many sessions, found without reading the others.

Rule of this file: it only reads, by the index `trending_facts`; sessions made from a
recording are nobody's past.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass

from callout.logbook.errors import EntryError
from callout.logbook.migrations import TRENDING
from callout.logbook.stamp import RECORDING
from callout.logbook.store import Logbook

FIGURES = (
    "start watched", "run-down", "cool-down started", "cool-down complete", "duty refused",
)  # fmt: skip
"""Facts whose figures are compared."""

TALLIED = (
    "not understood", "wrong answer", "out of range", "no answer", "quick answer", "deferred",
    "skipped", "overridden", "time missed",
)  # fmt: skip
"""Facts that are only counted, by what they are about."""

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
        try:
            pairs = dict(json.loads(data)["data"])
        except (KeyError, TypeError, ValueError):
            raise EntryError(
                f"A fact {name!r} of session {session} cannot be read. "
                "Update callout if a newer one wrote it."
            ) from None
        yield Figures(session, name, about, pairs)


def tallies(logbook: Logbook, aircraft: str) -> list[tuple[str, str, int]]:
    """(fact, what it is about, how often) of one aircraft."""
    rows = logbook.select(tallies_query(logbook), aircraft)
    # In an order of our own: a database gives groups as it likes.
    return sorted((str(name), str(about), int(often)) for name, about, often in rows)


def figures_query(logbook: Logbook) -> str:
    """SQL of `figures`; its one parameter is the aircraft."""
    return _query(logbook, "session, name, about, data", FIGURES) + " ORDER BY session, seq"


def tallies_query(logbook: Logbook) -> str:
    """SQL of `tallies`; its one parameter is the aircraft."""
    return _query(logbook, "name, about, count(*)", TALLIED) + " GROUP BY name, about"


def _query(logbook: Logbook, columns: str, names: tuple[str, ...]) -> str:
    # TRENDING word for word, or the index is not used (sqlite.org/partialindex.html); a
    # logbook that was not opened for a session since it was invented does not have it yet.
    by = "INDEXED BY trending_facts" if logbook.has("trending_facts") else ""
    wanted = ", ".join(f"'{name}'" for name in names)
    return (
        f"SELECT {columns} FROM entries {by} "  # noqa: S608 - our own words
        f"WHERE {TRENDING} AND name IN ({wanted}) AND {_MINE}"
    )


def answers(logbook: Logbook, session: int, items: frozenset[str]) -> Iterator[str]:
    """What ticked these items in a session."""
    query = (
        "SELECT about, data FROM entries WHERE session = ? AND kind = 'fact' AND name = 'ticked' "
        "ORDER BY seq"
    )
    for about, data in logbook.select(query, session):
        if about in items:
            yield str(dict(json.loads(data)["data"]).get("answer", ""))
