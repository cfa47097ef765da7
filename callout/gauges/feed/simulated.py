"""The simulated machine as a feed: its gauges as CSV lines, with the noise of real sensors.

Rule of this file: deterministic; the same machine, plan and seed give the same
lines to the last digit.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import islice
from types import MappingProxyType

from callout.gauges.simulator import UNITS, Machine, Plan, Sensor, SensorFault, samples

NOISE: Mapping[str, float] = MappingProxyType(
    {
        "gas-generator-speed": 0.15,
        "exhaust-temperature": 1.5,
        "rotor-speed": 0.15,
        "battery-voltage": 0.03,
        "starter-current": 1.5,
        "oil-pressure": 0.02,
        "oil-temperature": 0.3,
        "fuel-quantity": 0.2,
    }
)
"""Standard deviation of each sensor, in its unit (invented, of the size that is common)."""

STEP = 0.01
"""Seconds of one step of the simulation."""


def lines(
    machine: Machine,
    plan: Plan,
    seconds: float,
    *,
    rate: float = 100.0,
    seed: int = 0,
    noisy: bool = True,
) -> Iterator[str]:
    """The head, then a line for each sample; `rate` is samples a second, 100 at most."""
    yield "time [s]," + ",".join(f"{name} [{unit}]" for name, unit in UNITS.items())
    every = max(1, round(1.0 / (rate * STEP)))
    wanted = round(seconds / STEP) + 1
    if noisy:
        noise = tuple(SensorFault(name, Sensor.NOISE, amount) for name, amount in NOISE.items())
        faults = replace(machine.faults, sensors=(*noise, *machine.faults.sensors))
        machine = replace(machine, faults=faults)
    for sample in islice(samples(machine, plan, dt=STEP, seed=seed), 0, wanted, every):
        cells = (_cell(sample.shown.get(name)) for name in UNITS)
        yield f"{sample.at:.2f}," + ",".join(cells)


def _cell(value: float | None) -> str:
    return "" if value is None else f"{value:.2f}"
