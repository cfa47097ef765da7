"""What happened to each squawk, put together by its name, before anything is made of it.

Rule of this file: it only reads, and only what all squawks ever had is small for: their
facts and acts. What costs more (whose they are, how long their recordings) is left to
whoever wants one of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from callout.logbook.codec import pairs_of
from callout.logbook.origins import Origins
from callout.logbook.squawk_tables import OF_SQUAWKS
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook

OPENED = "squawk opened"
"""The fact that begins one."""


@dataclass(frozen=True, slots=True)
class Change:
    """One fact or act about a squawk.

    Fields:
        order: by its wall time, the opening first of all, however the clock was set since
        session: in which it was written; of an act: that of the squawk
        fact: whether it happened in that session
    """

    order: tuple[str, int, int]
    session: int
    stamp: Stamp
    what: str
    about: str
    data: dict[str, str]
    fact: bool


def changes(logbook: Logbook) -> dict[str, list[Change]]:
    """Squawk -> what happened to it, in order; those that were opened only, oldest first.

    Raises LogbookError.
    """
    origins = Origins(logbook)
    found: dict[str, list[Change]] = {}
    for change in (*_facts(logbook), *_acts(logbook)):
        named = change.data.get("squawk", "")
        own = f"{change.session}.{named}"
        key = origins.here(change.session, named) if "." in named else own
        if change.what == OPENED or key in found:
            found.setdefault(key, []).append(change)
    for some in found.values():
        some.sort(key=lambda one: one.order)
    return found


_COLUMNS = "seq, session, name, about, data, now, wall, boot, boot_id"


def _facts(logbook: Logbook) -> Iterator[Change]:
    """The openings first: what was written about a squawk may stand before it (an import)."""
    later = []
    query = f"SELECT {_COLUMNS} FROM entries WHERE {OF_SQUAWKS} ORDER BY seq"  # noqa: S608
    for seq, session, name, about, text, *when in logbook.select(query):
        data = pairs_of(session, name, text)
        stamp = Stamp(*when)
        order = ("" if name == OPENED else stamp.wall, 0, seq)
        change = Change(order, session, stamp, name, about, data, fact=True)
        if name == OPENED:
            yield change
        else:
            later.append(change)
    yield from later


def _acts(logbook: Logbook) -> Iterator[Change]:
    if not logbook.has("acts"):
        return
    query = "SELECT act, session, squawk, what, who, how, now, wall, boot, boot_id FROM acts"
    for number, session, squawk, what, who, how, *when in logbook.select(query + " ORDER BY act"):
        stamp = Stamp(*when)
        data = {"squawk": str(squawk), "who": who, "how": how}
        yield Change((stamp.wall, 1, number), session, stamp, what, "", data, fact=False)
