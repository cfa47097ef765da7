"""Session time: real, or that of a recording; and stamps on every clock there is.

Rule of this file: the only place of `running` that reads a clock. Session time
starts at 0, counts seconds and never runs backwards; in real time it goes on
while the machine sleeps.
"""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Protocol

from callout.logbook.stamp import RECORDING, Stamp

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class SessionClock(Protocol):
    """What tells session time."""

    def now(self) -> float:
        """Session seconds."""

    def stamp(self, now: float) -> Stamp:
        """The moment `now` on every clock."""


class RealClock:
    """Session time as the world's, suspend included where the system says so."""

    def __init__(self, starts_at: float = 0.0) -> None:
        self._zero = boot_seconds() - starts_at
        self._boot_id = boot_id()

    def now(self) -> float:
        """Session seconds."""
        return boot_seconds() - self._zero

    def stamp(self, now: float) -> Stamp:
        """Now on every clock."""
        wall = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
        return Stamp(now, wall, boot_seconds(), self._boot_id)


class RecordingClock:
    """Session time as a recording's: it stands wherever the loop has put it."""

    def __init__(self) -> None:
        self._now = 0.0

    def now(self) -> float:
        """Session seconds."""
        return self._now

    def move(self, now: float) -> None:
        """Go on to `now`; ValueError for a time that is past."""
        if now < self._now:
            raise ValueError(f"Time cannot go back from {self._now} to {now} s.")
        self._now = now

    def stamp(self, now: float) -> Stamp:
        """Made from session time alone, so that one recording gives one log."""
        moment = _EPOCH + timedelta(seconds=now)
        wall = moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")
        return Stamp(now, wall, now, RECORDING)


def boot_seconds() -> float:
    """Seconds that go on through suspend where the system has such a clock."""
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


def boot_id() -> str:
    """Which start of this machine it is; "" where that is not told."""
    try:
        return _BOOT_ID.read_text(encoding="ascii").strip()
    except OSError:
        return ""
