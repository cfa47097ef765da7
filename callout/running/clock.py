"""Session time: real, or that of a recording; and stamps on every clock there is.

Rule of this file: the only place of `running` that reads a clock. Session time
starts at 0, counts seconds and never runs backwards; in real time it goes on
while the machine sleeps.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class System:
    """The clocks of the machine; in tests, those of an invented one.

    Fields:
        boot: seconds that go on through suspend where the system has such a clock
        wall: the time of day, UTC
        boot_id: which start of the machine it is; "" where that is not told
    """

    boot: Callable[[], float]
    wall: Callable[[], datetime]
    boot_id: Callable[[], str]


class RealClock:
    """Session time as the world's, suspend included where the system says so."""

    def __init__(self, starts_at: float = 0.0, system: System | None = None) -> None:
        self._system = system or MACHINE
        self._zero = self._system.boot() - starts_at
        self._boot_id = self._system.boot_id()

    def now(self) -> float:
        """Session seconds."""
        return self._system.boot() - self._zero

    def stamp(self, now: float) -> Stamp:
        """The moment `now` on every clock: of it, not of when it is written down."""
        wall = self._system.wall().isoformat(timespec="milliseconds").replace("+00:00", "Z")
        return Stamp(now, wall, self._zero + now, self._boot_id)

    def put_to(self, seconds: float) -> None:
        """It is `seconds` where it stood at 0: the session began that much earlier."""
        self._zero -= seconds


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


MACHINE = System(boot_seconds, lambda: datetime.now(UTC), boot_id)
"""The machine that runs this program."""
