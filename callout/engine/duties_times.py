"""What runs beside the lists: when it wants the clock, and which words it hears.

Rule of this file: questions about values; nothing is decided here.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.duties import CoolDown
from callout.checklist.model import Aircraft, Wait
from callout.engine.duties_state import Duties

#: What may be said at any time about the cool-down, and about the run-down.
POWER = "power"
STANDSTILL = "standstill"


def beside(aircraft: Aircraft, now: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Words that count now, and what each of them says."""
    cool, down = aircraft.cool_down, aircraft.run_down
    said = {POWER: cool.raised if cool else (), STANDSTILL: down.said if down else ()}
    for what in now:
        for words in said[what]:
            yield words, what


def wait_of(aircraft: Aircraft, cool: CoolDown) -> Wait:
    """The timed wait that gives the cool-down its length and marks."""
    list_id, _, item_id = cool.wait.partition("/")
    task = next(item.task for item in aircraft.list(list_id).items() if item.id == item_id)
    assert isinstance(task, Wait)
    return task


def cooled_at(aircraft: Aircraft, duties: Duties) -> float | None:
    """When the cool-down will be done; None while it does not count."""
    cool, cooling = aircraft.cool_down, duties.cooling
    if cool is None or cooling.began is None or cooling.over:
        return None
    return cooling.began + wait_of(aircraft, cool).seconds


def deadlines(aircraft: Aircraft, duties: Duties) -> Iterator[float]:
    """The cool-down's next mark and its end, the longest turn of a counter, the end of a rest."""
    end = cooled_at(aircraft, duties)
    if end is not None:
        yield from (end - mark for mark in duties.cooling.marks[:1])
        yield end
    for counter, tally in zip(aircraft.counters, duties.tallies, strict=False):
        if counter.each is not None and tally.began is not None and counter.id not in duties.late:
            yield tally.began + counter.each
    yield from (until for _, until in duties.refused)
