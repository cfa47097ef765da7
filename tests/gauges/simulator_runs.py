"""What the simulator's tests share: whole runs, and the marks on them."""

from functools import lru_cache

from callout.gauges.simulator import Machine, Plan, Trace, at_rest, run, samples
from callout.gauges.simulator.readings import EXHAUST, GAS_SPEED

# The same hands whatever the gauges show: the lever opens at one rate and never waits.
SAME_HANDS = Plan(lever_rate=0.010, eases_at=float("inf"), starter_most=float("inf"))
# A whole day: start, 20 s at idle, 60 s of flight, cool-down, shut-down at 240 s.
WHOLE_DAY = Plan(fly_after=20.0, fly_for=60.0, fuel_off=240.0)


@lru_cache(maxsize=1)
def normal_start() -> Trace:
    """A sound machine on a standard day, started by the list."""
    return run(Machine(), Plan(), 90.0)


@lru_cache(maxsize=1)
def whole_day() -> Trace:
    """Start, flight, cool-down, shut-down and run-down to standstill."""
    return run(Machine(), WHOLE_DAY, 400.0, dt=0.02)


def light_off(trace: Trace) -> float | None:
    return trace.first(lambda sample: sample.state.lit)


def reached(trace: Trace, percent: float) -> float | None:
    return trace.first(lambda sample: sample.shown[GAS_SPEED] >= percent)


def start_peak(machine: Machine, plan: Plan, **rest: float) -> float:
    """Hottest exhaust (degC) from light-off to half speed; the start must get there."""
    peak = -300.0
    for sample in samples(machine, plan, start=at_rest(machine, **rest), dt=0.02):
        assert sample.at < 120.0, "this start never reached half speed"
        if sample.state.lit:
            peak = max(peak, sample.shown[EXHAUST])
        if sample.shown[GAS_SPEED] >= 50.0:
            break
    return peak
