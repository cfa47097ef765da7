"""What the feed's tests share: gauges, lines, and the events they give.

Rule of this file: values and plain functions, no test.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable
from decimal import Decimal

from callout.checklist.model import Band, Feed, Gauge
from callout.engine.events import Event, FeedFault, FeedGood, Reading
from callout.gauges.feed.watch import FeedWatch


def gauge(name: str, unit: str = "degC", low: int = -40, high: int = 1000, **more: object) -> Gauge:
    return Gauge(name, name.replace("-", " "), unit, (), Band(Decimal(low), Decimal(high)), **more)  # type: ignore[arg-type]


HEAT = gauge("heat")
OIL = gauge("oil", high=150)
SPEED = gauge("speed", "%", 0, 115)
PRESSURE = gauge("pressure", "bar", 0, 10, decimals=1)


def noise(seed: int, sigma: float) -> Callable[[float], float]:
    """A function that adds white noise: the same for the same seed."""
    chance = random.Random(seed)
    return lambda value: value + chance.gauss(0.0, sigma)


def table(
    columns: dict[str, Callable[[float], float | str | None]], seconds: float, rate: float = 100.0
) -> list[str]:
    """A head and rows, each column a function of time; None leaves its cell empty."""
    lines = ["time," + ",".join(columns)]
    for n in range(round(seconds * rate) + 1):
        at = n / rate
        cells = (column(at) for column in columns.values())
        lines.append(f"{at:.3f}," + ",".join(map(_cell, cells)))
    return lines


def _cell(value: float | str | None) -> str:
    if value is None or isinstance(value, str):
        return value or ""
    return "nan" if math.isnan(value) else f"{value:.3f}"


def watched(gauges: Iterable[Gauge], lines: Iterable[str | bytes]) -> list[Event]:
    """All events of a recorded feed."""
    watch = FeedWatch(gauges, paced=False)
    events: list[Event] = []
    for number, line in enumerate(lines, 1):
        data = line.encode() if isinstance(line, str) else line
        events += watch.line(number, data, 0.0)
    return events


def told(events: Iterable[Event]) -> list[tuple[str, str]]:
    """(gauge, kind) of faults, (gauge, "good") of what is over; in order."""
    return [
        (e.gauge, e.kind if isinstance(e, FeedFault) else "good")
        for e in events
        if isinstance(e, FeedFault | FeedGood)
    ]


def values(events: Iterable[Event], name: str) -> list[tuple[float, float]]:
    """(time, value) of a gauge's readings."""
    return [(e.at, float(e.value)) for e in events if isinstance(e, Reading) and e.gauge == name]


__all__ = ["HEAT", "OIL", "PRESSURE", "SPEED", "Feed", "gauge", "noise", "table", "told", "values"]


def steady(level: float, sigma: float, seed: int = 1):
    shaken = noise(seed, sigma)
    return lambda at: shaken(level)
