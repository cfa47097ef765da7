"""Pictures of what never was a session: a recorded feed, a simulated start.

Rule of this file: values out of a feed or the simulator; nothing is drawn here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from callout.checklist.model import Aircraft
from callout.engine.events import Event, FeedFault, FeedGood, Reading
from callout.gauges.feed.recording import rows
from callout.gauges.feed.watch import FeedWatch
from callout.gauges.simulator import Machine, Plan, Sample, samples
from callout.gauges.simulator.readings import GAS_SPEED
from callout.running.pictures import CAUTION, NOTE, Mark, Picture, Span, empty, spans

_IDLE = 76.0
"""Per cent at which the simulated machine idles (simulator.Plan)."""


def of_feed(file: Path, aircraft: Aircraft, state: str) -> Picture:
    """A recorded feed, judged as in a session, with the limits of one engine state."""
    picture = empty(f"Feed {file.name}, with the gauges of {aircraft.name}", aircraft)
    watch = FeedWatch(aircraft.gauges, paced=False)
    for read in rows(file):
        if read.row is not None:
            _take(picture, watch.row(read.row, 0.0))
        elif read.why:
            picture.notes = [f"Line {read.number} was not understood: {read.why}."]
    picture.spans = [Span(state, 0.0, picture.ends)]
    return picture


def of_simulator(machine: Machine, plan: Plan, seconds: float, aircraft: Aircraft) -> Picture:
    """A simulated start, with the limits of an aircraft that has gauges of those names."""
    title = f"Simulated start of an invented machine, with the limits of {aircraft.name}"
    picture = empty(title, aircraft)
    states: list[tuple[float, str]] = [(0.0, "start")]
    before: Sample | None = None
    for sample in samples(machine, plan):
        if sample.at > seconds:
            break
        for name, value in sample.shown.items():
            if name in picture.curves and round(sample.at * 100) % 4 == 0:
                picture.curves[name].times.append(sample.at)
                picture.curves[name].values.append(value)
        if before is not None:
            picture.marks += _handled(before, sample)
            _state(states, sample)
        before = sample
    picture.spans = spans(states, picture.ends)
    return picture


def _take(picture: Picture, events: Iterable[Event]) -> None:
    for event in events:
        if isinstance(event, Reading):
            _add(picture, event)
        elif isinstance(event, FeedFault):
            call = picture.curves[event.gauge].gauge.call if event.gauge else "feed"
            picture.marks.append(Mark(picture.ends, f"{call}: {event.kind}", CAUTION, event.gauge))
        elif isinstance(event, FeedGood) and event.gauge:
            call = picture.curves[event.gauge].gauge.call
            picture.marks.append(Mark(picture.ends, f"{call}: works again", NOTE, event.gauge))


def _add(picture: Picture, reading: Reading) -> None:
    curve = picture.curves.get(reading.gauge)
    if curve is not None and reading.value.is_finite():
        curve.times.append(reading.at)
        curve.values.append(float(reading.value))


def _handled(before: Sample, now: Sample) -> Iterator[Mark]:
    """What the hands did, and the flame."""
    hands = (("starter", "starter on", "starter off"), ("igniter", "igniter on", "igniter off"))
    for name, on, off in hands:
        was, is_ = getattr(before.controls, name), getattr(now.controls, name)
        if was != is_:
            yield Mark(now.at, on if is_ else off)
    if (before.controls.fuel > 0) != (now.controls.fuel > 0):
        yield Mark(now.at, "fuel on" if now.controls.fuel > 0 else "fuel off")
    if before.state.lit != now.state.lit and (now.state.lit or now.controls.fuel > 0):
        yield Mark(now.at, "light-off" if now.state.lit else "flame out")


def _state(states: list[tuple[float, str]], sample: Sample) -> None:
    state = states[-1][1]
    if state == "start" and sample.shown.get(GAS_SPEED, 0.0) >= _IDLE:
        states.append((sample.at, "running"))
    elif state == "running" and sample.controls.fuel == 0.0:
        states.append((sample.at, "cool-down"))
