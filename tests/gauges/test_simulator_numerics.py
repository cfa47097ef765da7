"""Accuracy in time, determinism, speed, and what a step refuses."""

import doctest

import numpy as np
import pytest
from simulator_runs import reached

import callout.gauges.simulator
from callout.gauges.simulator import Controls, Machine, Plan, at_rest, readings, run, step
from callout.gauges.simulator.readings import EXHAUST, GAS_SPEED, ROTOR_SPEED


def after(controls, seconds, dt, state):
    machine = Machine()
    for _ in range(round(seconds / dt)):
        state = step(machine, state, controls, dt)
    return readings(machine, state)


def test_halving_the_step_quarters_the_error_while_nothing_switches():
    """Heun's method is of second order: motoring for 4 s against a step of 0.625 ms."""
    cold = at_rest(Machine())
    speeds = {dt: after(Controls(starter=True), 4.0, dt, cold)[GAS_SPEED] for dt in DTS}
    exact = speeds[DTS[-1]]
    errors = [abs(speeds[dt] - exact) for dt in DTS[:3]]

    assert 3.0 < errors[0] / errors[1] < 5.0
    assert 3.0 < errors[1] / errors[2] < 5.5


DTS = (0.04, 0.02, 0.01, 0.000625)


def test_a_whole_start_is_the_same_when_the_step_is_halved():
    """100 and 200 samples a second: the gauges differ by less than can be read."""
    coarse, fine = (run(Machine(), Plan(), 60.0, dt=dt) for dt in (0.01, 0.005))
    for gauge, most in [(GAS_SPEED, 0.1), (ROTOR_SPEED, 0.2), (EXHAUST, 3.0)]:
        apart = np.abs(coarse.shown(gauge) - fine.shown(gauge)[::2])
        assert apart.max() < most, gauge

    assert pytest.approx(coarse.shown(EXHAUST).max(), abs=0.5) == fine.shown(EXHAUST).max()
    assert pytest.approx(reached(coarse, 76.0), abs=0.05) == reached(fine, 76.0)


def test_the_same_start_twice_is_the_same_to_the_last_digit():
    one, two = (run(Machine(), Plan(), 20.0) for _ in range(2))

    assert one.samples == two.samples


@pytest.mark.parametrize("dt", [0.0, -0.01, 0.06, float("nan"), float("inf")])
def test_a_step_that_cannot_be_trusted_is_refused(dt):
    with pytest.raises(ValueError, match=r"more than 0 and at most 0\.05"):
        step(Machine(), at_rest(Machine()), Controls(), dt)


@pytest.mark.parametrize("lever", ["fuel", "grip", "pitch"])
@pytest.mark.parametrize("value", [-0.01, 1.01, float("nan")])
def test_a_lever_outside_its_travel_is_refused(lever, value):
    with pytest.raises(ValueError, match=f"'{lever}' .* goes from 0 to 1"):
        Controls(**{lever: value})


def test_the_examples_in_the_package_run():
    failed, tried = doctest.testmod(callout.gauges.simulator)

    assert (0, 8) == (failed, tried)
