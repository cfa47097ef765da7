"""What is wrong with the machine today, as data.

Rule of this file: every field's default means "sound". Wrong handling by the
pilot is no fault of the machine: it is a Plan with other numbers (pilot.py).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Sensor(Enum):
    """How a gauge lies."""

    STUCK = "stuck"  # shows what it showed when the fault began
    DROPOUT = "dropout"  # shows nothing: the gauge is missing from the readings
    NOISE = "noise"  # amount: standard deviation, in the gauge's unit
    OFFSET = "offset"  # amount: added, in the gauge's unit
    JUMP = "jump"  # amount: added for one half of every second


@dataclass(frozen=True, slots=True)
class SensorFault:
    """One gauge lying from `begins` to `ends` (s of simulated time).

    Fields:
        gauge: key of readings()
        kind: how it lies
        amount: in the gauge's unit; unused for stuck and dropout
    """

    gauge: str
    kind: Sensor
    amount: float = 0.0
    begins: float = 0.0
    ends: float = float("inf")

    def holds(self, at: float) -> bool:
        """Whether the gauge lies at this time (s)."""
        return self.begins <= at < self.ends


@dataclass(frozen=True, slots=True)
class Faults:
    """Faults of one machine on one day.

    Fields:
        battery_resistance: times the battery's inner resistance (weak: 2 to 4)
        starter_resistance: times the starter's resistance (worn brushes, bad cable)
        starter_sticks: s that the starter stays in mesh after it is let go; inf for ever
        igniter_dead: no spark
        fuel_excess: times the metered fuel flow (hot start: 1.3 to 2)
        fuel_leak: kg/s past the closed lever, from `fuel_leak_from` (s) on; with
            hot metal at rest it catches fire (residual fire: 0.0001 to 0.0005)
        fuel_stops, fuel_returns: s between which no fuel arrives (flame-out)
        tailwind: m/s blowing into the exhaust
        sensors: gauges that lie
    """

    battery_resistance: float = 1.0
    starter_resistance: float = 1.0
    starter_sticks: float = 0.0
    igniter_dead: bool = False
    fuel_excess: float = 1.0
    fuel_leak: float = 0.0
    fuel_leak_from: float = 0.0
    fuel_stops: float = float("inf")
    fuel_returns: float = float("inf")
    tailwind: float = 0.0
    sensors: tuple[SensorFault, ...] = ()
