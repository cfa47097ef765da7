"""A gauge with limits of every kind, feeds into it, and what was found at each sample."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from engine_aircraft import band

from callout.checklist.model import Gauge, Limit, Transient
from callout.engine.limit_findings import Finding, Kind
from callout.engine.limit_memory import BLANK, Memory, look

START = Limit(
    "start",
    caution=band("100", "700"),
    never=band("20", "800"),
    transient=Transient(Decimal(740), 5.0, None, 8.0),
    rate_at_most=Decimal(150),
    fall_at_most=Decimal(300),
)
RUNNING = Limit("running", caution=band(None, "680"), never=band(None, "720"))
ALWAYS = Limit("any", never=band(None, "900"))


def gauge(*limits: Limit, jitter: str | None = None) -> Gauge:
    """Shows 0 to 1000, so it jitters by 10 if nothing is said."""
    own = None if jitter is None else Decimal(jitter)
    shows = band("0", "1000")
    return Gauge("heat", "exhaust temperature", "degC", ("degrees",), shows, limits=limits,
                 jitter=own)  # fmt: skip


HEAT = gauge(START, RUNNING, ALWAYS)

Samples = list[tuple[float, float]]


@dataclass
class Seen:
    """What was found as new, and when: (time, kind)."""

    new: list[tuple[float, Kind]]
    memory: Memory

    @property
    def kinds(self) -> list[Kind]:
        return [kind for _, kind in self.new]


def watched(
    samples: Iterable[tuple[float, float]],
    of: Gauge = HEAT,
    state: str = "start",
    memory: Memory = BLANK,
    **how: bool,
) -> Seen:
    """Let a gauge show these values, rounded to a tenth."""
    new: list[tuple[float, Kind]] = []
    for at, value in samples:
        before = {(f.key, f[:4], f.since) for f in memory.findings}
        memory = look(of, memory, state, at, Decimal(f"{value:.1f}"), **how)
        new += [(at, f.kind) for f in memory.findings if (f.key, f[:4], f.since) not in before]
    return Seen(new, memory)


def feed(hz: float, *parts: tuple[float, float, float], begins: float = 0.0) -> Samples:
    """Straight lines, each (seconds, from, to), sampled evenly."""
    out: Samples = []
    done = 0
    for seconds, first, last in parts:
        count = round(seconds * hz)
        out += [
            (begins + (done + i) / hz, first + (last - first) * i / count) for i in range(count)
        ]
        done += count
    return out


def found(memory: Memory) -> list[Kind]:
    return [finding.kind for finding in memory.findings]


def first(seen: Seen, kind: Kind) -> float:
    """When a kind was first found; inf for never."""
    return next((at for at, one in seen.new if one is kind), math.inf)


def the(memory: Memory, kind: Kind) -> Finding:
    return next(finding for finding in memory.findings if finding.kind is kind)
