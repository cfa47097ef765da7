"""A value against its limits: verdict, and which limit it passed.

Rule of this file: arithmetic on values the owner wrote; no limit has a default.
Never-exceed limits are judged before the item's own range, so that a value
that is wrong both ways is called by the graver name.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

from callout.checklist.model import Aircraft, Band, Gauge, Limit


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
        limit: the figure that was passed
    """

    level: Level
    side: str = ""
    limit: Decimal | None = None


NORMAL = Verdict(Level.NORMAL)


def _passed(band: Band, value: Decimal, level: Level) -> Verdict | None:
    if band.at_most is not None and value > band.at_most:
        return Verdict(level, "above", band.at_most)
    if band.at_least is not None and value < band.at_least:
        return Verdict(level, "below", band.at_least)
    return None


def limits_now(gauge: Gauge, engine_state: str) -> tuple[Limit, ...]:
    """The limits of a gauge that apply in an engine state."""
    return tuple(one for one in gauge.limits if one.state in ("any", engine_state))


def _never(limit: Limit, value: Decimal) -> Verdict | None:
    """The absolute limits; a transient's own ceiling is one of them."""
    found = _passed(limit.never, value, Level.NEVER)
    if found is None and limit.transient is not None:
        ceiling = Band(at_most=limit.transient.never_above)
        found = _passed(ceiling, value, Level.NEVER)
    return found


def judge(gauge: Gauge, engine_state: str, value: Decimal, accept: Band | None = None) -> Verdict:
    """The gravest verdict on a value, in the gauge's unit.

    `accept` is the range an item asks for, if one does.
    """
    limits = limits_now(gauge, engine_state)
    for limit in limits:
        if (found := _never(limit, value)) is not None:
            return found
    if accept is not None and (found := _passed(accept, value, Level.OUTSIDE)) is not None:
        return found
    for limit in limits:
        if (found := _passed(limit.caution, value, Level.CAUTION)) is not None:
            return found
    return NORMAL


def judge_reading(aircraft: Aircraft, gauge_id: str, engine_state: str, value: Decimal) -> Verdict:
    """As `judge`, for a measured value of a gauge named by id."""
    return judge(aircraft.gauge(gauge_id), engine_state, value)
