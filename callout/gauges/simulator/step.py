"""One step of the machine in time.

Rule of this file: pure; the same state, controls and dt give the same next
state. Motion is integrated by Heun's method (second order); what switches
(starter in mesh, light-off, flame-out) switches between steps.
"""

from __future__ import annotations

from dataclasses import replace

from callout.gauges.simulator.combustor import catches_on_metal, goes_out
from callout.gauges.simulator.state import Controls, Machine, State
from callout.gauges.simulator.working import Rates, Working, rates, working

LONGEST_STEP = 0.05  # s; the locked clutch (time constant about 0.04 s) is stable below


def step(machine: Machine, state: State, controls: Controls, dt: float) -> State:
    """Move the machine on by dt seconds with the hands held still.

    Args:
        machine: parameters, air, faults
        state: where it is
        controls: where the hands are
        dt: s, above 0 and at most 0.05 (0.01 is usual)

    Raises ValueError for a dt outside that range.
    """
    if not 0.0 < dt <= LONGEST_STEP:
        raise ValueError(f"A step of {dt} s cannot be trusted: give more than 0 and at most 0.05.")
    begun = _mesh(machine, state, controls, dt)
    here = working(machine, begun, controls)
    slope = rates(machine, begun, controls, here)
    guess = _moved(begun, slope, slope, dt, _shown(here))
    ahead = rates(machine, guess, controls, working(machine, guess, controls))
    moved = _moved(begun, slope, ahead, dt, _shown(here))
    return _switch(machine, moved, here)


def _mesh(machine: Machine, state: State, controls: Controls, dt: float) -> State:
    """Throw the starter in or out of mesh; a sticking one comes out late or never."""
    if controls.starter:
        return state if state.meshed else replace(state, meshed=True, let_go=0.0)
    if not state.meshed:
        return state
    let_go = state.let_go + dt
    return replace(state, meshed=let_go < machine.faults.starter_sticks, let_go=let_go)


def _shown(now: Working) -> tuple[float, float]:
    return now.current.volts, now.current.starter


def _moved(state: State, one: Rates, two: Rates, dt: float, shown: tuple[float, float]) -> State:
    """Move every continuous field by the mean of two slopes; nothing goes below empty.

    Friction pulls on a shaft at rest too; holding speeds at 0 makes it stand still.
    """
    half = 0.5 * dt
    return State(
        # Rounded, so that a hundred thousand additions of 0.01 do not drift.
        at=round(state.at + dt, 9),
        gas_speed=max(0.0, state.gas_speed + half * (one.gas_speed + two.gas_speed)),
        rotor_speed=max(0.0, state.rotor_speed + half * (one.rotor_speed + two.rotor_speed)),
        metal=state.metal + half * (one.metal + two.metal),
        probe=state.probe + half * (one.probe + two.probe),
        oil=state.oil + half * (one.oil + two.oil),
        oil_pressure=state.oil_pressure + half * (one.oil_pressure + two.oil_pressure),
        battery=state.battery + half * (one.battery + two.battery),
        charge=min(1.0, max(0.0, state.charge + half * (one.charge + two.charge))),
        pool=max(0.0, state.pool + half * (one.pool + two.pool)),
        fuel=max(0.0, state.fuel + half * (one.fuel + two.fuel)),
        kernel=min(1.0, max(0.0, state.kernel + half * (one.kernel + two.kernel))),
        flame=min(1.0, state.flame + half * (one.flame + two.flame)),
        lit=state.lit,
        meshed=state.meshed,
        let_go=state.let_go,
        volts=shown[0],
        amps=shown[1],
    )


def _switch(machine: Machine, state: State, seen: Working) -> State:
    """Light the flame or put it out."""
    flow, air = seen.fuel.metered, seen.gas.air
    if state.lit:
        if goes_out(machine, state, flow, air):
            return replace(state, lit=False, kernel=0.0, flame=0.0)
    elif state.kernel >= 1.0 or catches_on_metal(machine, state, flow, air):
        return replace(state, lit=True, kernel=0.0)
    return state
