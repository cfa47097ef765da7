"""Each fault shows what the trade knows it by (common practice, no source)."""

from dataclasses import replace

import numpy as np
import pytest
from simulator_runs import WHOLE_DAY, light_off, normal_start, reached, whole_day

from callout.gauges.simulator import (
    Controls,
    Faults,
    Machine,
    Plan,
    Sensor,
    SensorFault,
    at_rest,
    readings,
    run,
    shown,
    step,
)
from callout.gauges.simulator.readings import EXHAUST, GAS_SPEED, STARTER_CURRENT, VOLTAGE


def started(faults=None, plan=None, seconds=60.0, **rest):
    machine = Machine(faults=faults or Faults())
    return run(machine, plan or Plan(), seconds, start=at_rest(machine, **rest))


def test_a_weak_battery_turns_the_engine_too_slowly_for_fuel():
    trace = started(Faults(battery_resistance=3.0), seconds=45.0)

    assert 5.0 < trace.shown(GAS_SPEED).max() < 20.0
    assert trace.shown(VOLTAGE).min() < 10.0
    assert light_off(trace) is None


def test_a_half_empty_and_a_cold_battery_are_slower_than_a_full_warm_one():
    good, empty, cold = (
        reached(started(seconds=40.0, **rest), 20.0)
        for rest in ({}, {"charge": 0.5}, {"battery": 263.15})
    )

    assert good + 1.0 < empty
    assert good + 1.0 < cold


def test_worn_brushes_are_slow_at_a_good_voltage():
    """A bad starter leaves the voltage high, a bad battery pulls it down."""
    trace = started(Faults(starter_resistance=3.0), seconds=45.0)

    assert trace.shown(GAS_SPEED).max() < 20.0
    assert trace.shown(VOLTAGE).min() > 18.0


def test_a_dead_igniter_gives_no_light_off_and_a_pool_of_fuel():
    trace = started(Faults(igniter_dead=True), seconds=30.0)

    assert light_off(trace) is None
    assert trace.samples[-1].state.pool > 0.010
    assert trace.shown(EXHAUST).max() < 60.0


def test_a_late_spark_on_a_pool_of_fuel_is_a_wet_and_hot_start():
    """The pool of the failed start above, lit at the next attempt."""
    trace = started(pool=0.020)

    assert trace.true(EXHAUST).max() > 1000.0
    assert trace.true(EXHAUST).max() - normal_start().true(EXHAUST).max() > 300.0


def test_motoring_without_fuel_dries_a_wet_engine():
    machine = Machine()
    state = at_rest(machine, pool=0.020)
    for _ in range(2500):
        state = step(machine, state, Controls(starter=True), 0.01)

    assert state.pool < 0.010


@pytest.mark.parametrize(
    ("faults", "plan"),
    [
        (Faults(fuel_excess=1.6), Plan()),
        (Faults(), Plan(fuel_at=5.0)),
        (Faults(), Plan(lever_first=0.25)),
    ],
)
def test_too_much_or_too_early_fuel_is_a_hot_start(faults, plan):
    """Above 800 degC, which the example aircraft file never allows in a start."""
    assert started(faults, plan, 30.0).true(EXHAUST).max() > 800.0


@pytest.mark.parametrize("let_go", [24.0, 30.0])
def test_a_starter_let_go_too_early_leaves_a_hung_start(let_go):
    trace = started(plan=Plan(starter_off=let_go), seconds=90.0)

    assert trace.samples[-1].shown[GAS_SPEED] < 40.0
    assert reached(trace, 50.0) is None
    assert trace.true(EXHAUST)[-1] > 300.0 or not trace.samples[-1].state.lit


def test_a_sticking_starter_goes_on_drawing_current_after_it_is_let_go():
    sound, stuck = normal_start(), started(Faults(starter_sticks=float("inf")))

    assert 0.0 == sound.samples[6000].shown[STARTER_CURRENT]
    assert stuck.samples[-1].shown[STARTER_CURRENT] > 100.0
    assert not stuck.samples[-1].controls.starter
    assert stuck.samples[-1].shown[VOLTAGE] < 26.0


def test_a_starter_that_sticks_for_a_while_comes_out_then():
    trace = started(Faults(starter_sticks=5.0), seconds=45.0)
    let_go = trace.first(lambda s: s.at > 3.0 and not s.controls.starter)
    out = trace.first(lambda s: s.at > 3.0 and not s.state.meshed)

    assert pytest.approx(5.0, abs=0.03) == out - let_go


def test_a_tailwind_makes_the_start_hotter_and_slower():
    plan = Plan(eases_at=float("inf"), lever_rate=0.010)
    calm, windy = (started(Faults(tailwind=w), plan) for w in (0.0, 12.0))
    times = calm.times()
    early = times < reached(calm, 45.0)

    assert windy.true(EXHAUST)[early].max() > calm.true(EXHAUST)[early].max() + 3.0
    assert reached(windy, 45.0) > reached(calm, 45.0) + 0.3


def test_a_flame_out_drops_the_exhaust_and_the_speed():
    trace = started(Faults(fuel_stops=25.0, fuel_returns=26.0), seconds=28.0)
    out = trace.first(lambda s: s.at > 25.0 and not s.state.lit)
    speeds, exhaust = trace.true(GAS_SPEED), trace.true(EXHAUST)

    assert 25.0 < out < 25.1
    assert exhaust[2590] < exhaust[2490] - 300.0
    assert speeds[2590] < speeds[2590 - 80]


def leaking_day():
    faults = Faults(fuel_leak=0.0003, fuel_leak_from=WHOLE_DAY.fuel_off)
    return run(Machine(faults=faults), WHOLE_DAY, 360.0, dt=0.02)


def test_leaking_fuel_on_hot_metal_burns_after_shutdown_until_it_is_blown_out():
    """A residual fire: the exhaust rises at rest; motoring without fuel puts it out."""
    trace = leaking_day()
    fire = trace.first(lambda s: s.at > WHOLE_DAY.fuel_off + 5.0 and s.state.lit)
    state = trace.samples[-1].state
    machine = trace.machine
    burning = readings(machine, state)[EXHAUST]
    for _ in range(1500):
        state = step(machine, state, Controls(starter=True), 0.01)

    assert fire is not None
    assert burning > 500.0
    assert whole_day().true(EXHAUST)[-1] < 200.0
    assert not state.lit
    assert readings(machine, state)[EXHAUST] < 150.0


def test_an_empty_tank_stops_the_engine():
    trace = started(seconds=60.0, fuel_litres=0.05)

    assert light_off(trace) is not None
    assert not trace.samples[-1].state.lit
    assert 0.0 == trace.samples[-1].state.fuel


HONEST = {GAS_SPEED: 50.0, EXHAUST: 600.0}


def seen(kind, amount=0.0, at=5.0, before=None, seed=0):
    fault = SensorFault(EXHAUST, kind, amount, begins=5.0, ends=9.0)
    return shown(HONEST, (fault,), at, before or {}, seed)


def test_each_sensor_fault_lies_in_its_own_way():
    assert {GAS_SPEED: 50.0} == seen(Sensor.DROPOUT)
    assert 412.0 == seen(Sensor.STUCK, before={EXHAUST: 412.0})[EXHAUST]
    assert 640.0 == seen(Sensor.OFFSET, 40.0)[EXHAUST]
    assert [900.0, 600.0, 900.0] == [
        seen(Sensor.JUMP, 300.0, at)[EXHAUST] for at in (5.2, 5.7, 6.1)
    ]
    assert seen(Sensor.NOISE, 5.0)[EXHAUST] not in (600.0, seen(Sensor.NOISE, 5.0, seed=1)[EXHAUST])


@pytest.mark.parametrize("kind", list(Sensor))
@pytest.mark.parametrize("at", [4.99, 9.0])
def test_a_sensor_is_honest_before_and_after_its_fault(kind, at):
    assert HONEST == seen(kind, 40.0, at, before={EXHAUST: 1.0})


def test_noise_has_the_spread_that_was_asked_for_and_repeats():
    values = [seen(Sensor.NOISE, 5.0, at)[EXHAUST] for at in np.arange(5.0, 9.0, 0.01)]
    again = [seen(Sensor.NOISE, 5.0, at)[EXHAUST] for at in np.arange(5.0, 9.0, 0.01)]

    assert values == again
    assert pytest.approx(600.0, abs=1.0) == np.mean(values)
    assert pytest.approx(5.0, rel=0.15) == np.std(values)


def test_a_stuck_gauge_in_a_run_goes_on_showing_its_last_value_while_the_truth_moves():
    fault = SensorFault(EXHAUST, Sensor.STUCK, begins=12.0)
    trace = started(Faults(sensors=(fault,)), seconds=20.0)
    held = trace.shown(EXHAUST)[1200:]

    assert {trace.shown(EXHAUST)[1199]} == set(held.tolist())
    assert np.ptp(trace.true(EXHAUST)[1200:]) > 50.0


def test_a_dropped_out_gauge_in_a_run_is_missing_and_the_pilot_remembers_the_last():
    fault = SensorFault(GAS_SPEED, Sensor.DROPOUT, begins=5.0, ends=20.0)
    trace = started(Faults(sensors=(fault,)), seconds=25.0)

    assert np.isnan(trace.shown(GAS_SPEED)[500:2000]).all()
    assert trace.first(lambda s: s.controls.fuel > 0.0) == pytest.approx(20.0, abs=0.011)


def test_faults_are_data_that_can_be_compared_and_changed():
    assert Faults() == replace(Faults(tailwind=5.0), tailwind=0.0)
