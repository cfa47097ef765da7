"""Options that choose a simulated start, for the commands that have one.

Rule of this file: words to a machine and a plan of the simulator, with the numbers of
the example aircraft; nothing runs here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from callout.gauges.simulator import Faults, Machine, Plan, Sensor, SensorFault, air_at
from callout.gauges.simulator.readings import EXHAUST
from callout.gauges.simulator.reedlark import REEDLARK, REEDLARK_PLAN

NEVER = float("inf")

FAULTS: Mapping[str, tuple[Faults, Plan]] = {
    "none": (Faults(), REEDLARK_PLAN),
    "weak-battery": (Faults(battery_resistance=3.0), REEDLARK_PLAN),
    "no-light-off": (Faults(igniter_dead=True), replace(REEDLARK_PLAN, fuel_off=25.0)),
    "hot-start": (Faults(fuel_excess=1.6), REEDLARK_PLAN),
    "hung-start": (Faults(), replace(REEDLARK_PLAN, starter_off=30.0)),
    "sticking-starter": (Faults(starter_sticks=20.0), REEDLARK_PLAN),
    "igniter-left-on": (Faults(), replace(REEDLARK_PLAN, igniter_off=NEVER)),
    "tailwind": (Faults(tailwind=15.0), REEDLARK_PLAN),
    "flame-out": (Faults(fuel_stops=25.0), REEDLARK_PLAN),
    "residual-fire": (
        Faults(fuel_leak=0.0002, fuel_leak_from=110.0),
        replace(REEDLARK_PLAN, fuel_off=70.0),
    ),
    "sensor-stuck": (
        Faults(sensors=(SensorFault(EXHAUST, Sensor.STUCK, begins=15.0),)),
        REEDLARK_PLAN,
    ),
    "sensor-silent": (
        Faults(sensors=(SensorFault(EXHAUST, Sensor.DROPOUT, begins=15.0, ends=20.0),)),
        REEDLARK_PLAN,
    ),
    "sensor-jumps": (
        Faults(sensors=(SensorFault(EXHAUST, Sensor.JUMP, 200.0, begins=15.0, ends=20.0),)),
        REEDLARK_PLAN,
    ),
}
"""Name on the command line -> what is wrong and how it is flown; all numbers invented."""


def start(fault: str, *, shutdown: float | None, celsius: float) -> tuple[Machine, Plan]:
    """The machine and the plan; `shutdown` is when the fuel is closed (s), if at all."""
    faults, plan = FAULTS[fault]
    if shutdown is not None:
        plan = replace(plan, fuel_off=shutdown)
    return Machine(REEDLARK, air_at(0.0, celsius), faults), plan
