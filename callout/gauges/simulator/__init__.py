"""A light helicopter's turbine: start, run, cool-down, run-down, and what goes wrong.

A single-shaft gas generator with starter, battery and hand-metered fuel drives a
rotor through a centrifugal clutch. Every number is invented (parameters.py); the
physics is checked against standards, textbook examples and an energy audit. It is
for practice and for testing the watch over a start. It is no model of any real
machine and says nothing about one: the aircraft's own handbook rules.

Rule of this package: pure and deterministic. Time, hands and noise come in as
arguments; the same arguments give the same run to the last digit.

One step at a time:

>>> from callout.gauges.simulator import Controls, Machine, at_rest, readings, step
>>> machine = Machine()
>>> state = at_rest(machine)
>>> for _ in range(500):
...     state = step(machine, state, Controls(starter=True), 0.01)
>>> round(readings(machine, state)["gas-generator-speed"])
19

A whole start by the scripted pilot, with a tired battery:

>>> from callout.gauges.simulator import Faults, Plan, run
>>> trace = run(Machine(faults=Faults(battery_resistance=1.5)), Plan(), seconds=20)
>>> trace.first(lambda sample: sample.state.lit) is not None
True
"""

from callout.gauges.simulator.atmosphere import Air, air_at, standard_air
from callout.gauges.simulator.faults import Faults, Sensor, SensorFault
from callout.gauges.simulator.parameters import Parameters
from callout.gauges.simulator.pilot import Phase, Pilot, Plan, act
from callout.gauges.simulator.readings import UNITS, readings
from callout.gauges.simulator.rest import at_rest
from callout.gauges.simulator.run import Sample, Trace, run, samples
from callout.gauges.simulator.sensors import shown
from callout.gauges.simulator.state import Controls, Machine, State
from callout.gauges.simulator.step import step

__all__ = [
    "UNITS",
    "Air",
    "Controls",
    "Faults",
    "Machine",
    "Parameters",
    "Phase",
    "Pilot",
    "Plan",
    "Sample",
    "Sensor",
    "SensorFault",
    "State",
    "Trace",
    "act",
    "air_at",
    "at_rest",
    "readings",
    "run",
    "samples",
    "shown",
    "standard_air",
    "step",
]
