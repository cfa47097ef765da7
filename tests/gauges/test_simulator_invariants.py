"""What must hold in every run, searched for by Hypothesis."""

import math
from dataclasses import replace

import numpy as np
from budget import examples
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from simulator_runs import SAME_HANDS, reached, start_peak
from simulator_steady import self_sustaining_speed

from callout.gauges.simulator import (
    Controls,
    Faults,
    Machine,
    Plan,
    Sensor,
    SensorFault,
    air_at,
    at_rest,
    readings,
    run,
    step,
)
from callout.gauges.simulator.readings import EXHAUST, GAS_SPEED
from callout.gauges.simulator.working import working

share = st.floats(0.0, 1.0)
levers = st.one_of(st.just(0.0), share)
hands = st.builds(
    Controls,
    starter=st.booleans(),
    igniter=st.booleans(),
    fuel=levers,
    grip=levers,
    pitch=levers,
    ground_power=st.booleans(),
)
# Each position of the hands is held for half a second to eight seconds.
held = st.lists(st.tuples(hands, st.floats(0.5, 8.0)), min_size=1, max_size=8)
days = st.builds(air_at, st.floats(-1000.0, 10_000.0), st.floats(-35.0, 45.0))
faults = st.builds(
    Faults,
    battery_resistance=st.floats(1.0, 4.0),
    starter_resistance=st.floats(1.0, 3.0),
    starter_sticks=st.floats(0.0, 20.0),
    igniter_dead=st.booleans(),
    fuel_excess=st.floats(0.5, 2.0),
    tailwind=st.floats(0.0, 20.0),
)
machines = st.builds(Machine, air=days, faults=faults)
FEW = settings(max_examples=examples(10), deadline=None)
STARTS = settings(max_examples=examples(5), deadline=None)  # each is one or two whole starts
DT = 0.02


def states(machine, state, script):
    """Every step of a script as (state before, hands, state after)."""
    for controls, seconds in script:
        for _ in range(round(seconds / DT)):
            then = step(machine, state, controls, DT)
            yield state, controls, then
            state = then


def rest(machine, *, warmer=0.0, charge=1.0, pool=0.0):
    return at_rest(machine, metal=machine.air.kelvin + warmer, charge=charge, pool=pool)


@FEW
@given(machines, held, st.floats(0.0, 400.0), share, st.floats(0.0, 0.05))
def test_nothing_lights_without_airflow_fuel_and_spark(machine, script, warmer, charge, pool):
    least = machine.parameters.combustor.least_air * machine.parameters.turbine.design_air
    for before, controls, after in states(
        machine, rest(machine, warmer=warmer, charge=charge, pool=pool), script
    ):
        if after.lit and not before.lit:
            now = working(machine, before, controls)
            assert controls.igniter
            assert not machine.faults.igniter_dead
            assert now.fuel.metered > 0.0
            # The starter may have come into mesh within the step.
            assert now.gas.air > 0.98 * least
            assert before.gas_speed > 0.0


@FEW
@given(days, levers, st.floats(0.0, 500.0), st.floats(0.0, 0.05))
def test_an_engine_that_does_not_turn_never_lights(air, fuel, warmer, pool):
    """Igniter on, lever open, pooled fuel, hot metal: without the starter nothing burns."""
    machine = Machine(air=air)
    script = [(Controls(igniter=True, fuel=fuel), 10.0)]
    for _, _, after in states(machine, rest(machine, warmer=warmer, pool=pool), script):
        assert not after.lit
        assert 0.0 == after.gas_speed


@FEW
@given(machines, held, st.floats(0.0, 400.0))
def test_nothing_is_colder_than_the_air_while_unlit(machine, script, warmer):
    coldest = machine.air.kelvin - 1e-6
    for _, _, after in states(machine, rest(machine, warmer=warmer), script):
        if after.lit:
            break
        assert after.probe >= coldest
        assert after.metal >= coldest
        assert after.oil >= coldest
        assert after.battery >= coldest


@FEW
@given(machines, held, st.floats(0.0, 400.0), share)
def test_every_value_stays_possible(machine, script, warmer, charge):
    for _, _, after in states(machine, rest(machine, warmer=warmer, charge=charge), script):
        assert all(math.isfinite(value) for value in readings(machine, after).values())
        assert 0.0 <= after.gas_speed < 1.15 * machine.parameters.shaft.full_speed
        assert 0.0 <= after.rotor_speed < 1.15 * machine.parameters.rotor.full_speed
        assert 0.0 <= after.charge <= 1.0
        assert 0.0 <= after.pool
        assert 0.0 <= after.volts < 29.0
        assert after.probe < 3000.0


def hotter(one, two):
    """The second peak is the hotter one, beyond what a step more or less can make."""
    return two > one + 0.5


@STARTS
@given(st.floats(8.0, 21.0), st.floats(1.0, 8.0), st.floats(-10.0, 35.0))
def test_earlier_fuel_is_a_hotter_start(fuel_at, earlier, outside):
    """Same hands, the lever cracked at a lower speed."""
    machine = Machine(air=air_at(0.0, outside))
    assume(fuel_at - earlier >= 6.0)
    late, early = (
        start_peak(machine, replace(SAME_HANDS, fuel_at=speed))
        for speed in (fuel_at, fuel_at - earlier)
    )

    assert hotter(late, early)


@STARTS
@given(st.floats(0.7, 1.0), st.floats(0.1, 0.3), st.floats(5.0, 35.0))
def test_a_lower_voltage_is_a_hotter_start(charge, less, outside):
    """Same hands, a battery with less charge: lower voltage, higher resistance."""
    machine = Machine(air=air_at(0.0, outside))
    full, low = (start_peak(machine, SAME_HANDS, charge=level) for level in (charge, charge - less))

    assert hotter(full, low)


@STARTS
@given(st.floats(0.0, 250.0), st.floats(60.0, 200.0), st.floats(-10.0, 35.0))
def test_residual_heat_is_a_hotter_start(warmer, more, outside):
    machine = Machine(air=air_at(0.0, outside))
    air = machine.air.kelvin
    cool, hot = (
        start_peak(machine, SAME_HANDS, metal=air + above) for above in (warmer, warmer + more)
    )

    assert hotter(cool, hot)


@STARTS
@given(st.floats(-10.0, 35.0), st.floats(1.5, 8.0), st.floats(600.0, 700.0))
def test_the_start_hangs_if_the_starter_lets_go_below_self_sustaining_speed(
    outside, below, exhaust
):
    """The speed comes from the maps alone, with metal hotter than it is ever in a start."""
    machine = Machine(air=air_at(0.0, outside))
    let_go = self_sustaining_speed(machine, exhaust, metal=900.0) - below
    assume(let_go > 22.0)
    trace = run(machine, Plan(starter_off=let_go, eases_at=exhaust), 70.0, dt=DT)

    assert reached(trace, 60.0) is None


@STARTS
@given(st.floats(-10.0, 30.0), st.floats(4.0, 10.0), st.floats(640.0, 700.0))
def test_the_start_succeeds_if_the_starter_holds_on_beyond_self_sustaining_speed(
    outside, beyond, exhaust
):
    machine = Machine(air=air_at(0.0, outside))
    let_go = self_sustaining_speed(machine, exhaust, metal=machine.air.kelvin) + beyond
    trace = run(machine, Plan(starter_off=let_go, eases_at=exhaust), 110.0, dt=DT)

    assert reached(trace, 76.0) is not None


@STARTS
@given(days, st.floats(0.05, 1.0), st.floats(0.0, 450.0), share)
def test_the_run_down_is_monotone_and_ends_at_rest(air, speed, warmer, pitch):
    machine = Machine(air=air)
    turning = replace(
        rest(machine, warmer=warmer),
        gas_speed=speed * machine.parameters.shaft.full_speed,
        rotor_speed=speed * machine.parameters.rotor.full_speed,
    )
    last = turning
    for before, _, after in states(machine, turning, [(Controls(pitch=pitch), 240.0)]):
        assert after.gas_speed < before.gas_speed or after.gas_speed == 0.0
        assert after.rotor_speed < before.rotor_speed or after.rotor_speed == 0.0
        last = after
        if after.gas_speed == after.rotor_speed == 0.0:
            break

    assert (0.0, 0.0) == (last.gas_speed, last.rotor_speed)


@FEW
@given(machines, held, st.integers(0, 2**31))
def test_the_same_arguments_give_the_same_run(machine, script, seed):
    noisy = (SensorFault(EXHAUST, Sensor.NOISE, 4.0), SensorFault(GAS_SPEED, Sensor.NOISE, 0.2))
    machine = replace(machine, faults=replace(machine.faults, sensors=noisy))
    one, two = (list(states(machine, rest(machine), script)) for _ in range(2))
    shown = [run(machine, Plan(), 3.0, seed=seed) for _ in range(2)]

    assert one == two
    assert shown[0].samples == shown[1].samples
    assert np.std(shown[0].shown(EXHAUST)[:150]) > 1.0
