"""The numbers with which the simulator is the example aircraft of checklists/reedlark.yaml.

Rule of this file: only what differs from parameters.py and pilot.py, each with the
line of the example that it follows. As invented as all of it.
"""

from __future__ import annotations

from dataclasses import replace

from callout.gauges.simulator.parameters import Parameters
from callout.gauges.simulator.pilot import Plan

# The governor trims from 60 %, so that the machine idles at 65 %: in the
# example's band of 61 to 67 %. The generator loads the shaft from inside that band.
REEDLARK = replace(
    Parameters(),
    fuel=replace(Parameters().fuel, idle_speed=0.60),
    electric=replace(Parameters().electric, generator_speed=0.62),
)

# Fuel above the example's 17 %, starter off at its 50 %, idle from its 61 %; the
# example asks for the ignition only after that. The hand stays on the starter until then.
REEDLARK_PLAN = Plan(igniter_off=58.0, idle=61.0, starter_most=float("inf"))
