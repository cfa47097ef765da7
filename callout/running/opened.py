"""The first event of a session in real time: its lists, and what past sessions counted.

Rule of this file: the past comes from the logbook; a session in recording time
has none, so that one recording gives one log.
"""

from __future__ import annotations

from callout.checklist.content import digests
from callout.checklist.model import Aircraft
from callout.engine.events import SessionOpened
from callout.logbook.history import past
from callout.logbook.lists_flown import flown
from callout.logbook.squawks import told
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook


def session_opened(
    lists: tuple[str, ...],
    aircraft: Aircraft,
    logbook: Logbook,
    session: int,
    now: Stamp,
    pilot: str = "",
    *,
    recorded: bool = False,
) -> SessionOpened:
    """The event that opens session number `session` at `now`."""
    before = past(logbook, aircraft, session, now)
    open_ = told(logbook, aircraft.name, now)
    return SessionOpened(
        lists,
        before.tallies,
        before.run_downs,
        before.clock_set_back,
        open_,
        pilot,
        recorded,
        digests(aircraft),
        flown(logbook, aircraft.name, session),
    )
