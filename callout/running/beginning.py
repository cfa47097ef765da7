"""Where a session begins and ends in the logbook: a new one, or one that was broken off.

Rule of this file: it decides which session is written; what is in it is told elsewhere.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from callout.checklist.load import Loaded
from callout.gauges.feed.places import Way
from callout.gauges.feed.sources import chunks
from callout.logbook.rows import SessionRow
from callout.logbook.stamp import RECORDING, elapsed
from callout.logbook.store import Logbook
from callout.running.clock import SessionClock
from callout.running.conductor import Conductor, Screen
from callout.running.kept import Kept
from callout.running.settings import RunSettings
from callout.running.trend_remarks import find

RECORDED = "The sound of this session is kept; `callout log purge` removes it."

LONGEST_GAP = 12 * 3600.0
"""Seconds after which an unfinished session is another day's: its answers say nothing
about the machine as it stands now (common practice, no source)."""


def begin(
    settings: RunSettings, loaded: Loaded, logbook: Logbook, clock: SessionClock
) -> tuple[SessionRow | None, int]:
    """The session to take up, if there is one, and the number to write under."""
    key = _key(settings, loaded)
    row = _unfinished(settings, key, logbook)
    if row is not None:
        ended = _why_not(settings, row, clock)
        if not ended:
            return row, row.session
        logbook.finish(row.session, ended, clock.stamp(row.began.now))
    aircraft = loaded.aircraft
    # Absolute: reports and trends look for it from whatever folder they are called in.
    name, file = aircraft.name, str(settings.aircraft.absolute())
    return None, logbook.begin(name, aircraft.revision, file, key, clock.stamp(0.0))


def _key(settings: RunSettings, loaded: Loaded) -> str:
    """What an unfinished session must have been made from to be taken up."""
    if not settings.recording_time or not isinstance(settings.listen, Path):
        return loaded.fingerprint
    digest = hashlib.sha256(loaded.fingerprint.encode())
    digest.update(settings.listen.read_bytes())
    if settings.feed is not None and settings.feed.way is Way.FILE:
        digest.update(b"".join(filter(None, chunks(settings.feed))))
    digest.update(" ".join((settings.ear, settings.voice, *settings.lists)).encode())
    return digest.hexdigest()


def _unfinished(settings: RunSettings, key: str, logbook: Logbook) -> SessionRow | None:
    """The last session without an end that was made from the same, in the same time."""
    row = logbook.unfinished(fingerprint=key)
    if row is None:
        return None
    recorded = row.began.boot_id == RECORDING
    return row if recorded == settings.recording_time else None


def _why_not(settings: RunSettings, row: SessionRow, clock: SessionClock) -> str:
    """Why an unfinished session is not taken up; "" when it is."""
    if not settings.resume:
        return "given up"
    if settings.recording_time:
        return ""
    missed = elapsed(row.last or row.began, clock.stamp(0.0))
    return "too long ago" if missed > LONGEST_GAP else ""


def records(settings: RunSettings, loaded: Loaded) -> bool:
    """Whether the sound of the whole session is kept."""
    asked = settings.record_session
    return loaded.aircraft.settings.record_session if asked is None else asked


def record_session(kept: Kept, screen: Screen, now: float) -> None:
    """Keep the sound from now on, and say so."""
    kept.begin_session(now)
    screen.line(now, "note", RECORDED)


def finish(conductor: Conductor, clock: SessionClock) -> None:
    """The session is over: what is kept is written, what has changed is noted."""
    conductor.keep(rest=True)
    logbook = conductor.written.logbook
    if logbook is not None:
        stamp = clock.stamp(clock.now())
        find(logbook, conductor.session.aircraft, conductor.written.session, stamp)
        logbook.finish(conductor.written.session, "ended", stamp)
