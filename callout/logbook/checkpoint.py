"""The latest session whose first event already says what all before it had counted.

Rule of this file: it is trusted only where it can be no other than what reading
everything would give: what is counted and due is written in the same way (a list may have
been changed since), every earlier session had ended its writing, and the clock was right.
"""

from __future__ import annotations

from dataclasses import dataclass

from callout.engine.events import SessionOpened
from callout.logbook.codec import fields_from
from callout.logbook.places import Server
from callout.logbook.stamp import RECORDING, Stamp
from callout.logbook.store import Logbook

LATEST = 20
"""Sessions back in which one that counted in the same way is looked for."""

_LATEST = f"""
SELECT s.session, s.fingerprint, s.now, s.wall, s.boot, s.boot_id, e.seq, e.data
FROM sessions s JOIN entries e ON e.seq = (SELECT min(seq) FROM entries m WHERE m.session = s.session)
WHERE s.aircraft = ? AND s.session <> ? AND s.boot_id <> '{RECORDING}'
    AND e.name = 'SessionOpened'
ORDER BY s.session DESC LIMIT {LATEST}
"""  # noqa: S608, E501 - our own words

_STILL_WRITTEN = f"""
SELECT 1 FROM entries e NOT INDEXED JOIN sessions s USING (session)
WHERE e.seq > ? AND s.session < ? AND s.aircraft = ? AND s.boot_id <> '{RECORDING}' LIMIT 1
"""  # noqa: S608 - our own words


@dataclass(frozen=True, slots=True)
class Known:
    """A session, when it began, the seq of its first entry, and that entry."""

    session: int
    began: Stamp
    seq: int
    opened: SessionOpened


def trusted(
    logbook: Logbook, aircraft: str, session: int, fingerprint: str | None, counting: str = ""
) -> Known | None:
    """The latest such session but `session`; None where everything has to be read.

    It is of the file with this fingerprint, or one that counts in the same way.
    """
    latest = logbook.select("SELECT coalesce(max(session), 0) FROM origins WHERE known = 0")
    foreign = int(next(latest)[0]) if logbook.has("origins") else 0
    if fingerprint is None:
        own = logbook.select("SELECT fingerprint FROM sessions WHERE session = ?", session)
        fingerprint = next((str(one) for (one,) in own), "")
    if isinstance(logbook.path, Server):
        return _on_server(logbook, aircraft, session, fingerprint, counting)
    for number, of_file, *when, seq, data in logbook.select(_LATEST, aircraft, session):
        opened = _the_same(of_file, data, fingerprint, counting)
        if opened is None:
            continue
        if number <= foreign:
            return None  # it came from elsewhere, or what came later is not counted in it
        later = logbook.select(_STILL_WRITTEN, seq, number, aircraft)
        if opened.clock_set_back or next(later, None) is not None:
            return None
        return Known(number, Stamp(*when), seq, opened)
    return None


def _the_same(of_file: str, data: str, fingerprint: str, counting: str) -> SessionOpened | None:
    """What a session said, if it counted as is counted now."""
    if not fingerprint and not counting:
        return None
    opened = fields_from(SessionOpened, data)
    same = of_file == fingerprint != "" or opened.counting == counting != ""
    return opened if same else None


_LOOKED = f"""
SELECT s.session, s.fingerprint, s.now, s.wall, s.boot, s.boot_id, d.upto, e.data
FROM delivered d JOIN sessions s ON s.session = d.session
JOIN entries e ON e.seq = (SELECT min(seq) FROM entries m WHERE m.session = s.session)
WHERE d.part = 'looked' AND s.aircraft = ? AND s.session <> ?
    AND s.boot_id <> '{RECORDING}' AND e.name = 'SessionOpened'
ORDER BY s.session DESC LIMIT {LATEST}
"""  # noqa: S608 - our own words

_CAME_LATER = f"""
SELECT 1 FROM entries e JOIN sessions s ON s.session = e.session
WHERE e.seq > ? AND s.aircraft = ? AND s.boot_id <> '{RECORDING}'
    AND (s.session < ? OR s.wall < ?) LIMIT 1
"""  # noqa: S608 - our own words


def _on_server(
    logbook: Logbook, aircraft: str, session: int, fingerprint: str, counting: str
) -> Known | None:
    """The same where several machines write.

    What a session was told is what was there when it looked (delivering.py); what came
    after that is read, and nothing is trusted if any of it is of before.
    """
    for number, of_file, *when, looked, data in logbook.select(_LOOKED, aircraft, session):
        opened = _the_same(of_file, data, fingerprint, counting)
        if opened is None:
            continue
        began = Stamp(*when)
        came = logbook.select(_CAME_LATER, looked, aircraft, number, began.wall)
        if opened.clock_set_back or next(came, None) is not None:
            return None
        return Known(number, began, int(looked), opened)
    return None
