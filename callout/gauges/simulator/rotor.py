"""The centrifugal clutch with its freewheel, and what slows the rotor.

Rule of this file: the clutch only drives; a rotor faster than the engine runs free.
Torques in N m at the rotor.
"""

from __future__ import annotations

from math import tanh

from callout.gauges.simulator.atmosphere import RHO0
from callout.gauges.simulator.state import Controls, Machine, State


def gearing(machine: Machine) -> float:
    """Engine turns for one of the rotor."""
    return machine.parameters.shaft.full_speed / machine.parameters.rotor.full_speed


def clutch_torque(machine: Machine, state: State) -> float:
    """Torque that the clutch passes to the rotor.

    The shoes press with the square of the engine's speed against springs that
    hold them off below the speed where they bite.
    """
    rotor = machine.parameters.rotor
    speed = state.gas_speed / machine.parameters.shaft.full_speed
    if speed <= rotor.clutch_bites:
        return 0.0
    slip = state.gas_speed / gearing(machine) - state.rotor_speed
    if slip <= 0.0:
        return 0.0
    bite = rotor.clutch_bites * rotor.clutch_bites
    pressed = (speed * speed - bite) / (1.0 - bite)
    return rotor.clutch_torque * pressed * tanh(slip / rotor.clutch_slip)


def rotor_drag(machine: Machine, state: State, controls: Controls) -> float:
    """Torque that slows the rotor: air, with the square of speed, and friction."""
    rotor = machine.parameters.rotor
    speed = state.rotor_speed / rotor.full_speed
    blades = rotor.flat_drag + controls.pitch * rotor.pitch_drag
    return blades * machine.air.density / RHO0 * speed * speed + rotor.friction
