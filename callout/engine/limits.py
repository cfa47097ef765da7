"""A value against its limits: verdict, and which limit it passed.

Rule of this file: arithmetic on values the owner wrote; no limit has a default.
Never-exceed limits are judged before the item's own range, so that a value
that is wrong both ways is called by the graver name.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from enum import Enum

from callout.checklist.model import OPEN, Band, Gauge, Limit


class Level(Enum):
    """How bad it is."""

    NORMAL = "normal"
    CAUTION = "caution"
    OUTSIDE = "outside the item's range"
    NEVER = "never-exceed limit passed"


@dataclass(frozen=True, slots=True)
class Verdict:
    """Outcome for one value.

    Fields:
        level: the gravest that holds
        side: "above" or "below" the limit ("" when normal)
        limit: the figure that was passed, the outermost if several were
        state: engine state of that limit ("any" for always); no part of the verdict itself
    """

    level: Level
    side: str = ""
    limit: Decimal | None = None
    state: str = field(default="any", compare=False)


NORMAL = Verdict(Level.NORMAL)


def _passed(band: Band, value: Decimal, level: Level, state: str = "any") -> Verdict | None:
    if band.at_most is not None and value > band.at_most:
        return Verdict(level, "above", band.at_most, state)
    if band.at_least is not None and value < band.at_least:
        return Verdict(level, "below", band.at_least, state)
    return None


def limits_now(gauge: Gauge, engine_state: str) -> tuple[Limit, ...]:
    """The limits of a gauge that apply in an engine state."""
    return tuple(one for one in gauge.limits if one.state in ("any", engine_state))


def _never(limits: tuple[Limit, ...], value: Decimal) -> Iterator[Verdict]:
    """The absolute limits that are passed; a transient's own ceiling is one of them."""
    for limit in limits:
        if limit.never is not OPEN and (
            found := _passed(limit.never, value, Level.NEVER, limit.state)
        ):
            yield found
        ceiling = limit.transient.never_above if limit.transient is not None else None
        if ceiling is not None and value > ceiling:
            yield Verdict(Level.NEVER, "above", ceiling, limit.state)


def _caution(limits: tuple[Limit, ...], value: Decimal) -> Iterator[Verdict]:
    for limit in limits:
        if limit.caution is not OPEN and (
            found := _passed(limit.caution, value, Level.CAUTION, limit.state)
        ):
            yield found


def _outermost(found: Iterator[Verdict]) -> Verdict | None:
    """Of the limits passed on the first one's side that which lies furthest out."""
    best: Verdict | None = None
    for one in found:
        if best is None or (one.side == best.side and _beyond(one, best)):
            best = one
    return best


def _beyond(one: Verdict, other: Verdict) -> bool:
    assert one.limit is not None
    assert other.limit is not None
    return one.limit > other.limit if one.side == "above" else one.limit < other.limit


def judge(gauge: Gauge, engine_state: str, value: Decimal, accept: Band | None = None) -> Verdict:
    """The gravest verdict on a value, in the gauge's unit.

    `accept` is the range an item asks for, if one does.
    """
    limits = limits_now(gauge, engine_state)
    if (never := _outermost(_never(limits, value))) is not None:
        return never
    if accept is not None and (found := _passed(accept, value, Level.OUTSIDE)) is not None:
        return found
    return _outermost(_caution(limits, value)) or NORMAL
