"""The latest session whose first event already says what all before it had counted.

Rule of this file: it is trusted only where it can be no other than what reading
everything would give: the aircraft's file is the same to the last byte, every earlier
session had ended its writing, and the clock was right.
"""

from __future__ import annotations

from dataclasses import dataclass

from callout.engine.events import SessionOpened
from callout.logbook.codec import fields_from
from callout.logbook.places import Server
from callout.logbook.stamp import RECORDING
from callout.logbook.store import Logbook

_LATEST = f"""
SELECT s.session, e.seq, e.data
FROM sessions s JOIN entries e ON e.seq = (SELECT min(seq) FROM entries m WHERE m.session = s.session)
WHERE s.aircraft = ? AND s.fingerprint = ? AND s.session <> ? AND s.boot_id <> '{RECORDING}'
    AND e.name = 'SessionOpened'
ORDER BY s.session DESC LIMIT 1
"""  # noqa: S608, E501 - our own words

_STILL_WRITTEN = f"""
SELECT 1 FROM entries e NOT INDEXED JOIN sessions s USING (session)
WHERE e.seq > ? AND s.session < ? AND s.aircraft = ? AND s.boot_id <> '{RECORDING}' LIMIT 1
"""  # noqa: S608 - our own words


@dataclass(frozen=True, slots=True)
class Known:
    """A session, the seq of its first entry, and that entry."""

    session: int
    seq: int
    opened: SessionOpened


def trusted(logbook: Logbook, aircraft: str, session: int, fingerprint: str | None) -> Known | None:
    """The latest such session but `session`; None where everything has to be read."""
    latest = logbook.select("SELECT coalesce(max(session), 0) FROM origins WHERE known = 0")
    foreign = int(next(latest)[0]) if logbook.has("origins") else 0
    if fingerprint is None:
        own = logbook.select("SELECT fingerprint FROM sessions WHERE session = ?", session)
        fingerprint = next((str(one) for (one,) in own), "")
    if not fingerprint:
        return None
    if isinstance(logbook.path, Server):
        return _on_server(logbook, aircraft, session, fingerprint)
    for number, seq, data in logbook.select(_LATEST, aircraft, fingerprint, session):
        if number <= foreign:
            return None  # it came from elsewhere, or what came later is not counted in it
        opened = fields_from(SessionOpened, data)
        later = logbook.select(_STILL_WRITTEN, seq, number, aircraft)
        if opened.clock_set_back or next(later, None) is not None:
            return None
        return Known(number, seq, opened)
    return None


_LOOKED = f"""
SELECT s.session, s.wall, d.upto, e.data
FROM delivered d JOIN sessions s ON s.session = d.session
JOIN entries e ON e.seq = (SELECT min(seq) FROM entries m WHERE m.session = s.session)
WHERE d.part = 'looked' AND s.aircraft = ? AND s.fingerprint = ? AND s.session <> ?
    AND s.boot_id <> '{RECORDING}' AND e.name = 'SessionOpened'
ORDER BY s.session DESC LIMIT 1
"""  # noqa: S608 - our own words

_CAME_LATER = f"""
SELECT 1 FROM entries e JOIN sessions s ON s.session = e.session
WHERE e.seq > ? AND s.aircraft = ? AND s.boot_id <> '{RECORDING}'
    AND (s.session < ? OR s.wall < ?) LIMIT 1
"""  # noqa: S608 - our own words


def _on_server(logbook: Logbook, aircraft: str, session: int, fingerprint: str) -> Known | None:
    """The same where several machines write.

    What a session was told is what was there when it looked (delivering.py); what came
    after that is read, and nothing is trusted if any of it is of before.
    """
    for number, wall, looked, data in logbook.select(_LOOKED, aircraft, fingerprint, session):
        opened = fields_from(SessionOpened, data)
        came = logbook.select(_CAME_LATER, looked, aircraft, number, wall)
        if opened.clock_set_back or next(came, None) is not None:
            return None
        return Known(number, int(looked), opened)
    return None
