"""What can be found about a gauge, and which limit of its value is passed.

Rule of this file: values, and questions about one value; what a gauge showed
before is of no concern here.
"""

from __future__ import annotations

from decimal import Decimal
from enum import Enum
from typing import NamedTuple

from callout.checklist.model import Gauge, Limit
from callout.engine.limits import Level, judge


class Kind(Enum):
    """What can be found, gravest first."""

    #: a never-exceed limit is passed
    NEVER = "never"
    #: above for longer than all exposures may come to
    IN_ALL = "in all"
    #: above for longer than one exposure may last
    TOO_LONG = "too long"
    #: a never-exceed limit will be passed in a moment, going on so
    AHEAD = "ahead"
    #: a rate of rise or fall is passed
    RATE = "rate"
    #: above what is allowed for a short time only
    TRANSIENT = "transient"
    #: outside the caution band
    CAUTION = "caution"


GRAVE = frozenset({Kind.NEVER, Kind.IN_ALL, Kind.TOO_LONG, Kind.AHEAD, Kind.RATE})
"""A limit passed, or about to be: something has to be done at once. The others are cautions."""

RANK = {Kind.NEVER: 3, Kind.TRANSIENT: 2, Kind.CAUTION: 1}
"""The limits of a value itself, of which one at a time is called."""


class Finding(NamedTuple):
    """Something about a gauge that has to be called.

    Fields:
        kind: what
        state: engine state of the limit ("any" for always)
        side: "above" or "below"; of a rate, rising or falling
        limit: the figure as written: a value, a rate per second
        since: session time (s) at which it began
        allowed: seconds that are allowed, or looked ahead, of the kinds that have them
        seen: the rate, or the seconds above, when last looked at; 0 when the cause is
            gone for the moment
    """

    kind: Kind
    state: str
    side: str
    limit: Decimal
    since: float
    allowed: float = 0.0
    seen: float = 0.0

    @property
    def key(self) -> str:
        """Names the cause among all of this gauge; a value has one at a time."""
        return self.kind.name if self.kind in RANK else f"{self.kind.name}/{self.state}"

    def gone(self, value: Decimal) -> bool:
        """Whether it only stands because its cause was there a moment ago."""
        return self.inside_by(value) >= 0 if self.kind in RANK else self.seen == 0.0

    def same_limit(self, other: Finding) -> bool:
        """Whether both are about one limit."""
        return self[:4] == other[:4]

    def inside_by(self, value: Decimal) -> Decimal:
        """How far inside the limit a value is; negative outside."""
        return self.limit - value if self.side == "above" else value - self.limit

    def outranks(self, other: Finding) -> bool:
        """Whether a value that was outside the other one has got worse, not better."""
        rank, before = RANK[self.kind], RANK[other.kind]
        if rank != before or self.side != other.side:
            return rank >= before
        return other.inside_by(self.limit) < 0


def jitter(gauge: Gauge) -> Decimal:
    """How far readings jump about by themselves: as written, or a hundredth of the range.

    Gauges are seldom so restless as that (common practice, no source).
    """
    if gauge.jitter is not None:
        return gauge.jitter
    lowest, highest = gauge.possible.at_least, gauge.possible.at_most
    assert lowest is not None
    assert highest is not None
    return (highest - lowest) / 100


def ends(limit: Limit) -> tuple[Decimal | None, Decimal | None]:
    """The lowest and the highest value that are never passed."""
    highest = limit.never.at_most
    ceiling = limit.transient.never_above if limit.transient is not None else None
    if highest is None or (ceiling is not None and ceiling < highest):
        highest = ceiling
    return limit.never.at_least, highest


def passed(gauge: Gauge, state: str, at: float, value: Decimal) -> Finding | None:
    """The gravest limit that this value, taken at `at`, passes by itself."""
    verdict = judge(gauge, state, value)
    if verdict.level is not Level.NEVER and (found := _transient(gauge, state, at, value)):
        return found
    if verdict.limit is None:
        return None
    kind = Kind.NEVER if verdict.level is Level.NEVER else Kind.CAUTION
    return Finding(kind, verdict.state, verdict.side, verdict.limit, at)


def _transient(gauge: Gauge, state: str, at: float, value: Decimal) -> Finding | None:
    """The highest limit that may be passed for a while, if the value is above one."""
    found: Finding | None = None
    for limit in gauge.limits:
        passing = limit.transient
        if passing is None or value <= passing.above or limit.state not in ("any", state):
            continue
        if found is None or passing.above > found.limit:
            found = Finding(
                Kind.TRANSIENT, limit.state, "above", passing.above, at, passing.seconds
            )
    return found
