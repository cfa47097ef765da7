"""What is no value is told once and never given on; what is one always is."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from feed_lines import HEAT, OIL, SPEED, gauge, noise, steady, table, told, values, watched
from hypothesis import given, settings
from hypothesis import strategies as st

from callout.checklist.load import load
from callout.checklist.model import Feed
from callout.engine.events import Event, FeedFault, Reading
from callout.gauges.feed.simulated import lines as simulated
from callout.gauges.feed.watch import FROZEN, FeedWatch
from callout.gauges.simulator import Faults, Machine, Plan, Sensor, SensorFault
from callout.gauges.simulator.readings import EXHAUST

ROOT = Path(__file__).parents[2]
RATES = (2.0, 10.0, 100.0)


def two(heat, seconds: float = 20.0, rate: float = 100.0) -> list[Event]:
    """A feed of the heat under test, beside an oil temperature that is sound."""
    return watched([HEAT, OIL], table({"heat": heat, "oil": steady(60, 0.3, 2)}, seconds, rate))


@pytest.mark.parametrize("rate", RATES)
def test_a_sound_feed_is_told_nothing_about(rate):
    events = two(steady(600, 2.0), 60.0, rate)

    assert [] == told(events)
    assert len(values(events, "heat")) >= min(rate, 10.0) * 57


@pytest.mark.parametrize("word", ["nan", "inf", "-inf"])
@pytest.mark.parametrize("rate", RATES)
def test_what_is_no_number_is_told_once_and_is_no_value(word, rate):
    sound = steady(600, 2.0)
    events = two(lambda at: word if 5 <= at < 6 else sound(at), rate=rate)

    assert [("heat", "no number"), ("heat", "good")] == told(events)
    assert [] == [at for at, _ in values(events, "heat") if 5 <= at < 6]


@pytest.mark.parametrize("rate", RATES)
def test_a_gap_is_told_while_other_columns_go_on(rate):
    sound = steady(600, 2.0)
    events = two(lambda at: None if 5 <= at < 9 else sound(at), rate=rate)

    assert [("heat", "silent"), ("heat", "good")] == told(events)


def test_when_no_line_comes_at_all_no_single_sensor_is_accused():
    """Else each of eight gauges would be called silent before the feed is called lost."""
    watch, events = FeedWatch([HEAT, OIL], paced=True), []
    for n, line in enumerate(table({"heat": steady(600, 2.0), "oil": steady(60, 0.3)}, 5.0)):
        watch.line(n, line.encode(), n / 100)
    for n in range(40):
        watch.look(5.0 + n / 4, events)
    events += watch.line(999, b"20,601,61", 20.0)

    assert [] == told(events)


def test_a_gauge_that_the_file_expects_and_that_never_comes_is_silent():
    one = replace(OIL, feed=Feed("oil temp"))

    assert [("oil", "silent")] == told(watched([HEAT, one], table({"heat": steady(600, 2)}, 5)))


@pytest.mark.parametrize("wrong", [1021.0, 5000.0, -62.0])
def test_beyond_what_the_gauge_can_show_is_no_value(wrong):
    sound = steady(600, 2.0)
    events = two(lambda at: wrong if 5 <= at < 6 else sound(at))

    assert [("heat", "out of range"), ("heat", "good")] == told(events)
    assert {True} == {500 < value < 700 for _, value in values(events, "heat")}


def test_noise_about_the_end_of_the_range_is_the_end():
    events = watched([SPEED], table({"speed": steady(0.0, 0.2)}, 10))

    assert [] == told(events)
    assert 0.0 == min(value for _, value in values(events, "speed"))


@pytest.mark.parametrize("step", [-300.0, 150.0, 350.0])
def test_a_single_wild_sample_is_told_and_is_no_value(step):
    sound = steady(600, 2.0)
    events = two(lambda at: sound(at) + (step if at == 5.0 else 0.0))

    assert [("heat", "jumps"), ("heat", "good")] == told(events)
    assert {True} == {550 < value < 650 for _, value in values(events, "heat")}


def test_a_jump_for_half_of_every_second_never_becomes_a_value():
    sound = steady(600, 2.0)
    events = two(lambda at: sound(at) + (200.0 if 5 <= at < 12 and at % 1.0 < 0.5 else 0.0))

    assert [("heat", "jumps"), ("heat", "good")] == told(events)
    assert {True} == {550 < value < 650 for _, value in values(events, "heat")}


def test_a_new_level_that_stays_is_believed_after_two_seconds():
    """A plug that was pushed in again: the sensor is right from then on."""
    events = two(lambda at: steady(600 if at < 5 else 200, 2.0, int(at * 100))(at))

    assert [("heat", "jumps"), ("heat", "good")] == told(events)
    later = [at for at, value in values(events, "heat") if value < 300]
    assert 6.9 < later[0] < 7.2
    assert [] == [at for at, _ in values(events, "heat") if 5 <= at < 6.9]


def test_what_the_file_says_the_machine_can_do_is_no_jump():
    """400 degrees a second, ten samples a second: allowed, and not."""

    def ramp(at: float) -> float:
        return 100 + min(600.0, max(0.0, at - 5) * 400)

    fast = gauge("heat", feed=Feed(rate=Decimal(500)))
    slow = gauge("heat", feed=Feed(rate=Decimal(20)))

    assert [] == told(watched([fast], table({"heat": ramp}, 12, 10.0)))
    assert ("heat", "jumps") == told(watched([slow], table({"heat": ramp}, 12, 10.0)))[0]


def test_a_step_of_volts_is_real():
    """A starter that takes hold: the battery falls by a third at once."""
    volts = gauge("volts", "V", 0, 35, decimals=1)
    events = watched([volts], table({"volts": lambda at: 25.0 if at < 5 else 17.0}, 10))

    assert [] == told(events)
    assert 17.0 == values(events, "volts")[-1][1]


@pytest.mark.parametrize("rate", [10.0, 100.0])
def test_one_number_where_noise_should_be_is_a_stuck_sensor(rate):
    sound = steady(600, 2.0)
    held = sound(0)
    events = two(lambda at: held if 8 <= at < 16 else sound(at), 25.0, rate)

    assert [("heat", "stuck"), ("heat", "good")] == told(events)
    begun = next(e for e in events if isinstance(e, FeedFault))
    assert "gives" in begun.what
    assert [] == [at for at, _ in values(events, "heat") if 13 <= at < 16]


def test_a_number_that_stays_is_no_fault_where_there_never_was_noise():
    """A coarse or a smooth sensor: fuel in whole liters, a shaft that stands."""
    fuel = gauge("fuel", "l", 0, 95)
    slow = lambda at: float(round(60 - at / 20))  # noqa: E731
    events = watched([fuel, OIL], table({"fuel": slow, "oil": steady(60, 0.3)}, 60, 20.0))

    assert [] == told(events)


def test_zero_is_what_a_machine_at_rest_shows():
    shaken = noise(3, 0.3)
    speed = lambda at: max(0.0, shaken(3.0 - at / 4)) if at < 12 else 0.0  # noqa: E731
    events = watched([SPEED, OIL], table({"speed": speed, "oil": steady(60, 0.3)}, 30))

    assert [] == told(events)


def test_a_time_that_the_file_states_holds_for_a_sensor_without_noise():
    one = gauge("heat", feed=Feed(stuck_after=4.0))
    events = watched(
        [one, OIL], table({"heat": lambda at: 600.0, "oil": steady(60, 0.3)}, 12, 20.0)
    )

    assert [("heat", "stuck")] == told(events)
    assert values(events, "heat")[-1][0] == pytest.approx(4.5, abs=0.5)


def test_a_feed_of_which_nothing_moves_is_frozen():
    """A box that hung up and sends its last line again and again."""
    heat, oil = steady(600, 2.0), steady(60, 0.3)
    last: dict[str, float] = {}

    def held(name, sound):
        def value(at):
            if at < 8 or at >= 20:
                last[name] = sound(at)
            return last[name]

        return value

    lines = table({"heat": held("heat", heat), "oil": held("oil", oil)}, 26)
    events = watched([HEAT, OIL], lines)

    assert [("", "frozen"), ("", "good")] == [pair for pair in told(events) if not pair[0]]
    for name in ("heat", "oil"):
        assert [] == [at for at, _ in values(events, name) if 8 + FROZEN + 1 <= at < 20]
        assert [at for at, _ in values(events, name) if at >= 20.5]


def test_a_loose_plug_does_not_talk_all_day():
    """Each further time the quiet that ends a fault is twice as long."""
    sound = steady(600, 2.0)
    events = two(lambda at: "nan" if round(at * 100) % 500 == 499 else sound(at), 300.0)

    assert 59 == sum(1 for n in range(30001) if n % 500 == 499) - 1
    assert len([kind for _, kind in told(events) if kind == "no number"]) <= 3


@settings(deadline=None)
@given(
    st.lists(
        st.one_of(
            st.floats(width=32), st.none(), st.sampled_from(["nan", "inf", "", "-", "x", "1e99"])
        ),
        max_size=60,
    )
)
def test_whatever_comes_a_reading_is_a_finite_number_in_the_gauge_s_range(cells):
    lines = ["time,heat", *(f"{n / 10},{'' if c is None else c}" for n, c in enumerate(cells))]
    for event in watched([HEAT], lines):
        if isinstance(event, Reading):
            assert HEAT.possible.holds(event.value)
            assert math.isfinite(event.at)


EXAMPLE = load(ROOT / "checklists" / "reedlark.yaml")


@pytest.mark.parametrize(
    ("faults", "plan", "seconds"),
    [
        (Faults(), Plan(fly_after=3.0, fly_for=10.0, fuel_off=80.0), 100.0),
        (Faults(fuel_excess=1.6), Plan(), 40.0),
        (Faults(battery_resistance=3.0), Plan(), 45.0),
        (Faults(fuel_stops=45.0), Plan(), 60.0),
    ],
    ids=["day", "hot", "weak", "flame-out"],
)
@pytest.mark.parametrize("rate", [10.0, 100.0])
def test_no_sensor_of_a_simulated_machine_is_accused_however_it_runs(faults, plan, seconds, rate):
    """But for an exhaust that is hotter than its gauge can show."""
    lines = list(simulated(Machine(faults=faults), plan, seconds, rate=rate, seed=3))
    found = set(told(watched(EXAMPLE.gauges, lines)))

    assert found <= {(EXHAUST, "out of range"), (EXHAUST, "good")}


@pytest.mark.parametrize(
    ("kind", "amount", "word"),
    [
        (Sensor.STUCK, 0.0, "stuck"),
        (Sensor.DROPOUT, 0.0, "silent"),
        (Sensor.JUMP, 200.0, "jumps"),
        (Sensor.OFFSET, -300.0, "jumps"),
    ],
)
def test_each_fault_of_a_simulated_sensor_is_found(kind, amount, word):
    fault = SensorFault(EXHAUST, kind, amount, 12.0, 20.0)
    machine = Machine(faults=Faults(sensors=(fault,)))
    events = watched(EXAMPLE.gauges, simulated(machine, Plan(), 30.0, seed=1))

    assert {(EXHAUST, word), (EXHAUST, "good")} == set(told(events))
