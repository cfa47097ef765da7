"""A live session that was killed, as it stood: replayed, with a clock that went on.

Rule of this file: the seconds missed are read off once, so that none is lost
between one reading of the clock and the next however often a session is killed.
"""

from __future__ import annotations

from callout.checklist.load import Loaded
from callout.engine.session import Session
from callout.logbook.rows import SessionRow
from callout.logbook.stamp import elapsed
from callout.logbook.store import Logbook
from callout.running.clock import RealClock, System


def taken_up(
    loaded: Loaded, logbook: Logbook, row: SessionRow | None, system: System | None = None
) -> tuple[Session, RealClock, float]:
    """The session as it stood, a clock that went on meanwhile, and the seconds missed."""
    session = Session(loaded.aircraft)
    if row is None:
        return session, RealClock(system=system), 0.0
    at = row.began.now
    for at, event in logbook.events(row.session):
        session.handle(event, at)
    last = row.last or row.began
    clock = RealClock(system=system)
    # Readings are kept beside the entries: the last of them may be later than the last entry.
    now = max(at, last.now + elapsed(last, clock.stamp(0.0)))
    clock.put_to(now)
    return session, clock, now - max(at, last.now)
