"""The simulator's books: every joule that goes in is stored or comes out again.

The rates are integrated outside the simulator by the trapezium rule and compared
with the change of what is stored (first law of thermodynamics).
"""

from dataclasses import replace

import pytest
from simulator_energy import electric_balance, power, stored
from simulator_runs import WHOLE_DAY, whole_day

from callout.gauges.simulator import Controls, Faults, Machine, Plan, air_at, at_rest, run


def books(trace):
    """(given, taken, stored more) in J over a trace."""
    machine, given, taken = trace.machine, 0.0, 0.0
    for now, then in zip(trace.samples, trace.samples[1:], strict=False):
        # Within a step the starter is in mesh, or not, as it is at the step's end.
        begun = replace(now.state, meshed=then.state.meshed)
        one, two = (power(machine, state, now.controls) for state in (begun, then.state))
        half = 0.5 * (then.at - now.at)
        given += half * (one.given + two.given)
        taken += half * (one.taken + two.taken)
    first, last = trace.samples[0].state, trace.samples[-1].state
    return given, taken, stored(machine, last) - stored(machine, first)


def assert_balanced(trace):
    given, taken, more = books(trace)

    assert given > 1.0e6
    assert pytest.approx(given, rel=0.001) == taken + more


def test_energy_balances_over_a_whole_start():
    """Within 0.1 %."""
    assert_balanced(run(Machine(), Plan(), 60.0))


def test_energy_balances_over_start_flight_cool_down_and_run_down():
    assert_balanced(whole_day())
    assert WHOLE_DAY.fuel_off < whole_day().samples[-1].at


def test_energy_balances_over_a_wet_start_with_a_tailwind_at_altitude():
    machine = Machine(air=air_at(5000.0, 30.0), faults=Faults(tailwind=10.0))
    assert_balanced(run(machine, Plan(), 60.0, start=at_rest(machine, pool=0.02, metal=450.0)))


def test_the_fuel_that_left_the_tank_is_the_fuel_that_was_metered():
    """Fuel burnt, lost and pooled over a start adds up to what the tank lost."""
    trace = run(Machine(), Plan(), 60.0)
    value = trace.machine.parameters.fuel.heating_value
    used = trace.samples[0].state.fuel - trace.samples[-1].state.fuel
    metered = sum(
        0.5 * (then.at - now.at) * (one.fuel + two.fuel) / value
        for now, then in zip(trace.samples, trace.samples[1:], strict=False)
        for one, two in [[power(trace.machine, s, now.controls) for s in (now.state, then.state)]]
    )

    assert pytest.approx(used, rel=0.001) == metered


@pytest.mark.parametrize("ground_power", [False, True])
@pytest.mark.parametrize("speed", [0.0, 0.2, 0.5])
def test_the_starters_current_is_accounted_for(ground_power, speed):
    """E i = heat of the source and windings + work + loads, at once (Kirchhoff, Joule)."""
    machine = Machine()
    turning = speed * machine.parameters.shaft.full_speed
    state = replace(at_rest(machine), meshed=True, gas_speed=turning)
    controls = Controls(starter=True, igniter=True, ground_power=ground_power)
    given, used = electric_balance(machine, state, controls)

    assert given > 5000.0
    assert pytest.approx(given, rel=1e-9) == used
