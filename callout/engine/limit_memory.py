"""One gauge against all its limits, sample by sample: what stands, what is remembered.

Rule of this file: pure; `look` makes the next memory out of the last and a sample,
and what has to be called is in `Memory.findings`. A value passes a limit in the
very sample that shows it (invariant 5); it is back inside when it is so by twice
the gauge's jitter, or has been inside for QUIET seconds as far as samples show. So a
value that trembles about a limit is called once, and one that comes back again.
"""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from callout.checklist.model import Gauge, Limit
from callout.engine import limit_slopes
from callout.engine.exposure import NONE, Exposure, Sample, exposed
from callout.engine.limit_findings import Finding, Kind, jitter, passed
from callout.engine.limit_slopes import QUIET, Watch
from callout.engine.trend import LONGEST_GAP

CLEAR_BY = 2
"""So many times the jitter inside, and a value is inside again at once: no noise does that."""


class LimitMemory(NamedTuple):
    """What is remembered for one limit; a watch without a use is None.

    Fields:
        exposure: time above a transient limit
        near: for a never-exceed limit ahead
        rate: for a rate of rise or fall
    """

    exposure: Exposure = NONE
    near: Watch | None = None
    rate: Watch | None = None


class Memory(NamedTuple):
    """What is remembered of one gauge.

    Fields:
        state: the engine state in which it was last looked at
        sample: the last one; None when of the time since then nothing is known
        value: that sample's value as it came
        spoken: whether it was read aloud
        outside: the limit that the value is outside, the gravest; None for none
        inside_since: since when (s) it is inside that one again
        limits: one for each limit of the gauge, None for those of other states
        findings: all that stands, gravest first
    """

    state: str = ""
    sample: Sample | None = None
    value: Decimal = Decimal(0)
    spoken: bool = False
    outside: Finding | None = None
    inside_since: float | None = None
    limits: tuple[LimitMemory | None, ...] = ()
    findings: tuple[Finding, ...] = ()


BLANK = Memory()


def look(
    gauge: Gauge, memory: Memory, state: str, at: float, value: Decimal, *, spoken: bool = False
) -> Memory:
    """Take one sample, of a finite value, taken at `at` (s) while the engine is in a state.

    A value that was read aloud may be none of this moment (a peak, read off later),
    and whoever hears it calls its limits: of those only a transient is found here.
    """
    if memory.state != state:
        memory = moved(gauge, memory, state)
    seen = passed(gauge, state, at, value)
    outside, inside_since = memory.outside, memory.inside_since
    if not spoken or seen is None or seen.kind is Kind.TRANSIENT:
        outside, inside_since = _outside(gauge, memory, seen, at, value)
    last, kept = memory.sample, memory.limits
    sample = Sample(at, float(value))
    if last is not None and last.at - LONGEST_GAP < at < last.at:
        sample = last  # it comes late: it counts by itself only
    else:
        never = outside is not None and outside.kind is Kind.NEVER
        kept = tuple(
            None if one is None else _watched(limit, one, last, sample, never=never)
            for limit, one in zip(gauge.limits, kept, strict=True)
        )
    findings = _findings(gauge, outside, kept)
    return Memory(state, sample, value, spoken, outside, inside_since, kept, findings)


def moved(gauge: Gauge, memory: Memory, state: str) -> Memory:
    """The engine went over into another state: only what belongs to both is kept."""
    applies = ("any", state)
    old = memory.limits or (None,) * len(gauge.limits)
    kept = tuple(
        (_begun(gauge, limit) if one is None else one) if limit.state in applies else None
        for limit, one in zip(gauge.limits, old, strict=True)
    )
    outside, inside_since = memory.outside, memory.inside_since
    if outside is not None and outside.state not in applies:
        outside = inside_since = None
    return memory._replace(
        state=state,
        outside=outside,
        inside_since=inside_since,
        limits=kept,
        findings=_findings(gauge, outside, kept),
    )


def begun_anew(gauge: Gauge, memory: Memory) -> Memory:
    """The same engine state from its beginning, such as another start: no time was above yet."""
    kept = tuple(
        one
        if one is None or limit.state == "any"
        else one._replace(exposure=one.exposure._replace(total=one.exposure.seconds))
        for limit, one in zip(gauge.limits, memory.limits, strict=True)
    )
    return memory._replace(limits=kept, findings=_findings(gauge, memory.outside, kept))


def broken_off(memory: Memory) -> Memory:
    """From here to the next sample nobody looks: no slope over that time, no time above."""
    kept = tuple(
        None
        if one is None
        else LimitMemory(
            one.exposure, limit_slopes.emptied(one.near), limit_slopes.emptied(one.rate)
        )
        for one in memory.limits
    )
    return memory._replace(sample=None, limits=kept)


def _begun(gauge: Gauge, limit: Limit) -> LimitMemory:
    return LimitMemory(
        near=limit_slopes.look_ahead(gauge, limit), rate=limit_slopes.rates(gauge, limit)
    )


def _outside(
    gauge: Gauge, memory: Memory, seen: Finding | None, at: float, value: Decimal
) -> tuple[Finding | None, float | None]:
    """Which limit the value is outside of now, and since when it is inside that again."""
    held, since = memory.outside, memory.inside_since
    if held is None or (since is not None and at - since >= QUIET):
        return seen, None
    if seen is not None and seen.same_limit(held):
        return held, None
    if seen is not None and seen.outranks(held):
        return seen, None
    if held.inside_by(value) >= CLEAR_BY * jitter(gauge):
        return seen, None
    return held, at if since is None else since


def _watched(
    limit: Limit,
    memory: LimitMemory,
    last: Sample | None,
    sample: Sample,
    *,
    never: bool,
) -> LimitMemory:
    exposure, near, rate = memory
    if limit.transient is not None:
        exposure = exposed(exposure, float(limit.transient.above), last, sample)
    if near is not None:
        near = limit_slopes.followed(near, limit, Kind.AHEAD, sample)
        if never and near.found is not None:
            near = near._replace(found=None)  # what was seen ahead has come
    if rate is not None:
        rate = limit_slopes.followed(rate, limit, Kind.RATE, sample)
    return LimitMemory(exposure, near, rate)


def _findings(
    gauge: Gauge, outside: Finding | None, limits: tuple[LimitMemory | None, ...]
) -> tuple[Finding, ...]:
    found = [] if outside is None else [outside]
    for limit, one in zip(gauge.limits, limits, strict=True):
        if one is None:
            continue
        if limit.transient is not None and one.exposure.open:
            found += _too_long(limit, one.exposure)
        found += [w.found for w in (one.near, one.rate) if w is not None and w.found is not None]
    if len(found) > 1:
        found.sort(key=lambda finding: _ORDER[finding.kind])
    return tuple(found)


_ORDER = {kind: place for place, kind in enumerate(Kind)}


def _too_long(limit: Limit, exposure: Exposure) -> list[Finding]:
    passing = limit.transient
    assert passing is not None
    found = []
    for kind, allowed, seen in (
        (Kind.IN_ALL, passing.in_all, exposure.total),
        (Kind.TOO_LONG, passing.seconds, exposure.seconds),
    ):
        if allowed is not None and seen > allowed:
            found.append(Finding(kind, limit.state, "above", passing.above, 0.0, allowed, seen))
    return found
