"""Sentences about limits: what is said when a gauge passes one, or is about to.

Rule of this file: as wording.py, of which it is a part: noun first, state last,
numbers digit by digit; a warning says so, unless it must be as short as can be.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from callout.checklist.model import Aircraft, Gauge
from callout.engine import wording
from callout.engine.limit_findings import Finding, Kind
from callout.engine.limits import Level, Verdict
from callout.words.say_numbers import say_duration


def call(aircraft: Aircraft, gauge: Gauge, finding: Finding, value: Decimal) -> str:
    """What is said of a finding at a value."""
    if finding.kind in (Kind.NEVER, Kind.CAUTION):
        level = Level.NEVER if finding.kind is Kind.NEVER else Level.CAUTION
        verdict = Verdict(level, finding.side, finding.limit)
        return wording.out_of_range(aircraft, gauge, value, verdict)
    if finding.kind is Kind.AHEAD:
        return fast(gauge, finding.side)
    name, limit = wording.sentence(gauge.call)[:-1], wording.number(aircraft, finding.limit)
    if finding.kind is Kind.RATE:
        way = "rising" if finding.side == "above" else "falling"
        per_second = wording.with_unit(aircraft, gauge, finding.limit)
        return wording.sentence(f"Warning. {name} {way} more than {per_second} per second")
    time = _time(aircraft, finding.allowed)
    if finding.kind is Kind.TRANSIENT:
        read = wording.with_unit(aircraft, gauge, value)
        return wording.sentence(f"Caution. {name} {read}, above {limit} at most {time}")
    whole = " in all" if finding.kind is Kind.IN_ALL else ""
    return wording.sentence(f"Warning. {name} above {limit} for more than {time}{whole}")


def _time(aircraft: Aircraft, seconds: float) -> str:
    """How long; a share of a second is said, because a short allowance has few of them."""
    if seconds >= 60.0 or seconds == int(seconds):
        return say_duration(seconds)
    return f"{wording.number(aircraft, Decimal(f'{seconds:g}'))} seconds"


def fast(gauge: Gauge, side: str) -> str:
    """Short, because there is a moment left: what it is, and what it does."""
    way = "rising" if side == "above" else "falling"
    return wording.sentence(f"{gauge.call} {way} fast")


def calls(aircraft: Aircraft) -> Iterator[str]:
    """What must be ready to be said at once."""
    for gauge in aircraft.gauges:
        for side in ("above", "below"):
            if any(_end(gauge, side)):
                yield fast(gauge, side)


def _end(gauge: Gauge, side: str) -> Iterator[bool]:
    for limit in gauge.limits:
        if side == "below":
            yield limit.never.at_least is not None
        else:
            ceiling = limit.transient.never_above if limit.transient is not None else None
            yield limit.never.at_most is not None or ceiling is not None
