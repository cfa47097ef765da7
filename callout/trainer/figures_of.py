"""Times and numbers of an aircraft file, by the path of their keys.

Rule of this file: it reads the aircraft's values and invents none. The paths are
those of the keys in the file itself, so that an owner can copy one.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from callout.checklist.model import Aircraft, Await, Item, Limit, Wait

Named = Iterator[tuple[str, float]]


def times(aircraft: Aircraft) -> dict[str, float]:
    """Every time (s) that a reaction may be measured against."""
    return dict(_times(aircraft))


def numbers(aircraft: Aircraft) -> dict[str, float]:
    """Every figure that a gauge may be held against."""
    return dict(_numbers(aircraft))


def _times(aircraft: Aircraft) -> Named:
    for name, seconds in aircraft.reactions:
        yield f"reactions/{name}", seconds
    yield "settings/answer_time", aircraft.settings.answer_time
    for gauge in aircraft.gauges:
        for limit in gauge.limits:
            yield from _limit_times(f"gauges/{gauge.id}/limits/{limit.state}", limit)
    for checklist in aircraft.lists:
        for item in checklist.items():
            yield from _item_times(f"lists/{checklist.id}/{item.id}", item)
    yield from _duty_times(aircraft)
    if aircraft.start_watch is not None:
        for phase in aircraft.start_watch.phases:
            yield from _given(f"start_watch/phases/{phase.id}/within", phase.within)
        for fault in aircraft.start_watch.faults:
            yield from _given(f"start_watch/faults/{fault.id}/longest", fault.longest)


def _limit_times(path: str, limit: Limit) -> Named:
    if limit.transient is not None:
        yield f"{path}/transient/for", limit.transient.seconds
        yield from _given(f"{path}/transient/in_all", limit.transient.in_all)


def _item_times(path: str, item: Item) -> Named:
    if isinstance(item.task, Wait):
        yield f"{path}/wait", item.task.seconds
    if isinstance(item.task, Await):
        yield from _given(f"{path}/await/within", item.task.within)
        yield from _given(f"{path}/await/for", item.task.condition.seconds or None)
    yield from _given(f"{path}/look_time", item.look_time or None)
    yield from _given(f"{path}/stale_after", item.stale_after)


def _duty_times(aircraft: Aircraft) -> Named:
    for counter in aircraft.counters:
        path = f"counters/{counter.id}"
        yield from _given(f"{path}/each_at_most", counter.each)
        yield from _given(f"{path}/between", counter.between)
        yield from _given(f"{path}/rest", counter.rest)
    if aircraft.residual_fire is not None:
        yield from _given(
            "residual_fire/settled_after", aircraft.residual_fire.settled_after or None
        )
        yield "residual_fire/within", aircraft.residual_fire.within


def _numbers(aircraft: Aircraft) -> Named:
    for gauge in aircraft.gauges:
        for limit in gauge.limits:
            yield from _limit_numbers(f"gauges/{gauge.id}/limits/{limit.state}", limit)
    for checklist in aircraft.lists:
        for item in checklist.items():
            if isinstance(item.task, Await):
                band, path = item.task.condition.band, f"lists/{checklist.id}/{item.id}/await"
                yield from _given(f"{path}/at_least", band.at_least)
                yield from _given(f"{path}/at_most", band.at_most)
    if aircraft.residual_fire is not None:
        yield from _given("residual_fire/above", aircraft.residual_fire.above)


def _limit_numbers(path: str, limit: Limit) -> Named:
    for name, band in (("caution", limit.caution), ("never", limit.never)):
        yield from _given(f"{path}/{name}/below", band.at_least)
        yield from _given(f"{path}/{name}/above", band.at_most)
    if limit.transient is not None:
        yield f"{path}/transient/above", float(limit.transient.above)
        yield from _given(f"{path}/transient/never_above", limit.transient.never_above)


def _given(path: str, value: float | Decimal | None) -> Named:
    if value is not None:
        yield path, float(value)
