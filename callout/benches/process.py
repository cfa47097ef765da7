"""What a program takes: processor time and memory, its children included.

Rule of this file: Linux's /proc is read and nothing is changed; elsewhere it has
nothing to say.
"""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

PROC = Path("/proc")


@dataclass(frozen=True, slots=True)
class Usage:
    """Memory of a program and its children, in MB of 1,000,000 bytes.

    Fields:
        resident: pages in memory; what several processes share counts in each
        proportional: the same with shared pages divided among those who share them
        peak: the most that was resident at any time, each process at its own moment
    """

    resident: float
    proportional: float
    peak: float


def family(pid: int) -> list[int]:
    """The process and all that it started."""
    found = [pid]
    for one in found:
        for task in (PROC / str(one) / "task").glob("*/children"):
            with suppress(OSError):
                found += [int(word) for word in task.read_text().split()]
    return found


def processor_seconds(pid: int) -> float:
    """Seconds of processor that the process and its children have used."""
    used = 0
    for one in family(pid):
        with suppress(OSError):
            fields = (PROC / str(one) / "stat").read_text().rpartition(")")[2].split()
            used += int(fields[11]) + int(fields[12])
    return used / os.sysconf("SC_CLK_TCK")


def memory(pid: int) -> Usage | None:
    """What is in memory now; None where the system does not tell."""
    resident = proportional = peak = 0
    for one in family(pid):
        with suppress(OSError):
            rollup = _fields(PROC / str(one) / "smaps_rollup")
            resident += rollup.get("Rss", 0)
            proportional += rollup.get("Pss", 0)
            peak += _fields(PROC / str(one) / "status").get("VmHWM", 0)
    kilobyte = 1024 / 1e6
    if not resident:
        return None
    return Usage(resident * kilobyte, proportional * kilobyte, peak * kilobyte)


def _fields(path: Path) -> dict[str, int]:
    """Lines like `Rss:  123 kB` as numbers."""
    found = {}
    for line in path.read_text().splitlines():
        name, _, rest = line.partition(":")
        words = rest.split()
        if words and words[0].isdigit():
            found[name] = int(words[0])
    return found
