"""What each list of an aircraft held when it was last run, or last there if it never was.

Rule of this file: one earlier session is read, never more: its first event says
what all before it had run, and its facts what it ran itself. An aircraft flown by
an older program has no such event, and then nothing is known.
"""

from __future__ import annotations

from callout.engine.events import SessionOpened
from callout.logbook.codec import fields_from
from callout.logbook.stamp import RECORDING
from callout.logbook.store import Logbook

_BEFORE = f"""
SELECT s.session, e.data
FROM sessions s JOIN entries e ON e.seq = (SELECT min(seq) FROM entries m WHERE m.session = s.session)
WHERE s.aircraft = ? AND s.session <> ? AND s.boot_id <> '{RECORDING}' AND e.name = 'SessionOpened'
ORDER BY s.session DESC LIMIT 1
"""  # noqa: S608, E501 - our own words

_RUN = """
SELECT DISTINCT about FROM entries
WHERE session = ? AND kind = 'fact' AND name IN ('list opened', 'changed list told')
"""


def flown(logbook: Logbook, aircraft: str, session: int) -> tuple[tuple[str, str], ...]:
    """(list, digest of its content when it was last run) before session number `session`."""
    for number, data in logbook.select(_BEFORE, aircraft, session):
        opened = fields_from(SessionOpened, str(data))
        run = {str(about) for (about,) in logbook.select(_RUN, number)}
        known = {**dict(opened.contents), **dict(opened.flown)}
        known.update({name: digest for name, digest in opened.contents if name in run})
        return tuple(known.items())
    return ()
