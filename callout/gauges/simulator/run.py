"""A machine, a pilot and a clock: whole starts, as traces.

Rule of this file: it joins step, readings, sensors and pilot, and adds nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from callout.gauges.simulator.pilot import NORMAL, Pilot, Plan, act
from callout.gauges.simulator.readings import readings
from callout.gauges.simulator.rest import at_rest
from callout.gauges.simulator.sensors import shown
from callout.gauges.simulator.state import Controls, Machine, State
from callout.gauges.simulator.step import step


@dataclass(frozen=True, slots=True)
class Sample:
    """One instant of a run.

    Fields:
        at: s
        state: the truth
        controls: where the hands went, having seen this
        shown: what the gauges showed; a gauge that dropped out is missing
    """

    at: float
    state: State
    controls: Controls
    shown: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Trace:
    """A whole run, sampled every step."""

    machine: Machine
    samples: tuple[Sample, ...]

    def times(self) -> NDArray[np.float64]:
        """Times of the samples, s."""
        return np.array([sample.at for sample in self.samples])

    def shown(self, gauge: str) -> NDArray[np.float64]:
        """What a gauge showed, in its unit; NaN where it had dropped out."""
        return np.array([sample.shown.get(gauge, float("nan")) for sample in self.samples])

    def true(self, gauge: str) -> NDArray[np.float64]:
        """What an honest gauge would have shown, in its unit."""
        machine = self.machine
        return np.array([readings(machine, sample.state)[gauge] for sample in self.samples])

    def first(self, holds: Callable[[Sample], bool]) -> float | None:
        """Time (s) of the first sample for which something holds; None if never."""
        return next((sample.at for sample in self.samples if holds(sample)), None)


def samples(
    machine: Machine,
    plan: Plan = NORMAL,
    *,
    start: State | None = None,
    dt: float = 0.01,
    seed: int = 0,
) -> Iterator[Sample]:
    """Run without end, one sample a step.

    Args:
        machine: parameters, air, faults
        plan: what the pilot means to do
        start: first state; at rest and cold if None
        dt: s, 0.01 for 100 samples a second
        seed: of the sensors' noise
    """
    state = at_rest(machine) if start is None else start
    pilot, before = Pilot(plan), dict[str, float]()
    faults = machine.faults.sensors
    while True:
        seen = readings(machine, state)
        if faults:
            before = seen = shown(seen, faults, state.at, before, seed)
        pilot = act(pilot, seen, state.at, dt)
        yield Sample(state.at, state, pilot.hands, seen)
        state = step(machine, state, pilot.hands, dt)


def run(
    machine: Machine,
    plan: Plan = NORMAL,
    seconds: float = 60.0,
    *,
    start: State | None = None,
    dt: float = 0.01,
    seed: int = 0,
) -> Trace:
    """Run for so many seconds and keep every sample, the first and the last included."""
    stream = samples(machine, plan, start=start, dt=dt, seed=seed)
    return Trace(machine, tuple(next(stream) for _ in range(round(seconds / dt) + 1)))
