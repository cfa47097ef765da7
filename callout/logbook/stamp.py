"""When something was written down, on every clock that could be asked.

Rule of this file: pure arithmetic on stamps; nothing here reads a clock.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

RECORDING = "recording"
"""`boot_id` of stamps in recording time: they compare with one another only."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """One moment on several clocks.

    Fields:
        now: session seconds
        wall: UTC as ISO 8601 text with its offset ("2031-05-04T09:30:00.125Z")
        boot: seconds since the machine started, suspend included (CLOCK_BOOTTIME)
        boot_id: which start of the machine `boot` counts from; "" where unknown

    Raises ValueError, naming the field, for numbers that are not finite and for
    a wall time that is not UTC: a stamp that cannot be compared later is useless.
    """

    now: float
    wall: str
    boot: float
    boot_id: str

    def __post_init__(self) -> None:
        for name in ("now", "boot"):
            if not math.isfinite(getattr(self, name)):
                raise ValueError(f"The stamp's {name} must be a finite number of seconds.")
        _moment(self.wall)


@dataclass(frozen=True, slots=True)
class Gap:
    """How long it was between two stamps.

    Fields:
        seconds: never negative
        trusted: "boot clock" or "wall clock"
        why: for people: why that clock was trusted
    """

    seconds: float
    trusted: str
    why: str


def gap(stored: Stamp, current: Stamp) -> Gap:
    """Tell how long it was from stored to current, and which clock said so.

    The boot clock only counts forwards, through suspend too, but starts anew
    with the machine. Across a restart only the wall clock is left; it may have
    been set, so a negative difference counts as 0.
    """
    boot = current.boot - stored.boot
    if stored.boot_id and stored.boot_id == current.boot_id and boot >= 0:
        return Gap(boot, "boot clock", "the machine has not been restarted since")
    wall = (_moment(current.wall) - _moment(stored.wall)).total_seconds()
    if wall < 0:
        return Gap(0.0, "wall clock", "the wall clock was set back since, so no time is counted")
    return Gap(wall, "wall clock", _why_not_boot(stored, current))


def elapsed(stored: Stamp, current: Stamp) -> float:
    """Count the seconds from stored to current, never negative; `gap` also says by which clock."""
    return gap(stored, current).seconds


class Since:
    """`elapsed` up to one moment, for many moments before it: it is read once."""

    def __init__(self, current: Stamp) -> None:
        self._current = current
        self._moment = _moment(current.wall)

    def seconds(self, wall: str, boot: float, boot_id: str) -> float:
        """Seconds since a moment on wall and boot clock, never negative; ValueError as Stamp."""
        by_boot = self._current.boot - boot
        if boot_id and boot_id == self._current.boot_id and by_boot >= 0:
            return by_boot
        return max(0.0, (self._moment - _moment(wall)).total_seconds())


def set_back(stored: Stamp, current: Stamp) -> bool:
    """Whether the wall clock stands before a moment that is past, and no other clock knows."""
    return gap(stored, current).trusted == "wall clock" and (
        _moment(current.wall) < _moment(stored.wall)
    )


def _why_not_boot(stored: Stamp, current: Stamp) -> str:
    if not (stored.boot_id and current.boot_id):
        return "this machine does not say when it was started"
    if stored.boot_id != current.boot_id:
        return "the machine was restarted since"
    return "the boot clock went backwards"


def _moment(wall: str) -> datetime:
    """Read the wall text; ValueError if it is not UTC."""
    try:
        moment = datetime.fromisoformat(wall)
    except ValueError:
        moment = None
    if moment is None or moment.utcoffset() != timedelta(0):
        raise ValueError(f"The stamp's wall time must be UTC in ISO 8601, not {wall!r}.")
    return moment
