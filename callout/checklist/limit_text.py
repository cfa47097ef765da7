"""A gauge's limits as a person writes them, to be held against the handbook.

Rule of this file: values in, text out; the numbers stand as they were written.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.amounts import amount, time_text
from callout.checklist.limits import Band, Limit


def range_text(band: Band, unit: str) -> str:
    """The whole range of a gauge, both ends given."""
    assert band.at_most is not None
    return f"{band.at_least} to {amount(band.at_most, unit)}"


def bounds(band: Band, unit: str) -> Iterator[str]:
    """Where a band ends: "below 15.0 V", "above 28.8 V"."""
    if band.at_least is not None:
        yield f"below {amount(band.at_least, unit)}"
    if band.at_most is not None:
        yield f"above {amount(band.at_most, unit)}"


def over_time(limit: Limit, unit: str) -> Iterator[str]:
    """What may be passed for a while, and how fast a reading may change."""
    if limit.transient:
        highest = limit.transient.never_above
        top = f", never above {amount(highest, unit)}" if highest is not None else ""
        above = amount(limit.transient.above, unit)
        allowed = time_text(limit.transient.seconds)
        if limit.transient.in_all is not None:
            allowed += f" and {time_text(limit.transient.in_all)} in all"
        yield f"above {above} for at most {allowed}{top}"
    for way, rate in (("rising", limit.rate_at_most), ("falling", limit.fall_at_most)):
        if rate is not None:
            yield f"{way} at most {amount(rate, unit)} per second"
