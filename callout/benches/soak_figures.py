"""What a soak comes to: figures of each hour, and memory from time to time.

Rule of this file: plain values; nothing is measured here but the memory of this process.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np


@dataclass
class Hour:
    """One hour of it; a session's ticks and waits are counted in the hour in which it ends.

    Fields:
        seconds: sound that was heard (s)
        sessions: how many ended; typed: ticks by the pilot; ticks: false ticks
        other: words taken that were meant for nobody, ticks among them
        drift: the furthest (s) that session time was from the sound heard so far
        late: the furthest (s) that an utterance was heard after its end
        waits: the furthest (s) that a timed wait was from its length in sound
        memory: resident megabytes at the last look in this hour
    """

    seconds: float = 0.0
    sessions: int = 0
    typed: int = 0
    ticks: int = 0
    other: int = 0
    drift: float = 0.0
    late: float = 0.0
    waits: float = 0.0
    memory: float = 0.0


@dataclass
class Soak:
    """What came of it.

    Fields:
        seconds: sound that was heard (s); asked: of it, with an item of each kind in hand
        ticks: false ticks by kind of item, as "list/item: words"
        memory: (seconds heard, resident megabytes), at intervals
        hours: the figures of each hour
    """

    seconds: float = 0.0
    asked: dict[str, float] = field(default_factory=dict)
    ticks: dict[str, list[str]] = field(default_factory=dict)
    memory: list[tuple[float, float]] = field(default_factory=list)
    hours: list[Hour] = field(default_factory=list)

    @property
    def hour(self) -> Hour:
        """The hour that runs."""
        while len(self.hours) < 1 + int(self.seconds // 3600):
            self.hours.append(Hour())
        return self.hours[-1]

    def most(self, name: str) -> float:
        """The highest figure of this name in any hour."""
        return max((float(getattr(hour, name)) for hour in self.hours), default=0.0)

    def total(self, name: str) -> int:
        """The figures of this name in all hours together."""
        return sum(int(getattr(hour, name)) for hour in self.hours)

    @property
    def growth(self) -> float:
        """How much memory grew from the first third of the looks to the last, as a share."""
        third = max(1, len(self.memory) // 3)
        first = float(np.mean([mb for _, mb in self.memory[:third]] or [1.0]))
        last = float(np.mean([mb for _, mb in self.memory[-third:]] or [1.0]))
        return last / first - 1.0


def resident_megabytes() -> float:
    """Memory of this process that is in use now; the most so far where that is not told."""
    with suppress(OSError):
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
        return pages * _page() / 1e6
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3


def _page() -> int:
    import os

    return os.sysconf("SC_PAGE_SIZE")
