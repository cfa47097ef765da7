"""Limits over time: called once, called again, time above. Rates: test_engine_limit_slopes.py."""

from __future__ import annotations

import itertools
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from engine_aircraft import band
from hypothesis import given, settings
from hypothesis import strategies as st
from limit_feeds import (
    ALWAYS,
    HEAT,
    RUNNING,
    START,
    Samples,
    feed,
    first,
    found,
    gauge,
    the,
    watched,
)

from callout.checklist.model import Limit
from callout.engine.exposure import Sample
from callout.engine.limit_findings import Kind
from callout.engine.limit_memory import BLANK, Memory, broken_off, look, moved
from callout.engine.limit_slopes import QUIET

RATES = st.sampled_from([1.0, 2.0, 5.0, 10.0, 25.0, 100.0])
CAUTION = gauge(Limit(caution=band("100", "700")))


# once, and again


def test_a_value_that_trembles_about_its_limit_is_called_once():
    """699 and 701 in turn for 30 s: the jitter of a gauge that shows 0 to 1000 is 10."""
    samples = [(i / 10, 699.0 + 2 * (i % 2)) for i in range(300)]

    assert [(0.1, Kind.CAUTION)] == watched(samples, CAUTION).new


@given(st.integers(0, 10_000), RATES, st.sampled_from([1.0, 2.0, 3.3]))
@settings(max_examples=25, deadline=None)
def test_noise_about_a_limit_calls_it_a_few_times_an_hour_at_most(
    seed: int, hz: float, sigma: float
):
    """A minute of normal noise astride the limit, at up to a third of the jitter.

    At 1 Hz, 5 s inside are six samples: each case has a chance of one in 64.
    """
    noise = np.random.default_rng(seed).normal(0.0, sigma, round(60 * hz))
    samples = [(i / hz, 700.0 + value) for i, value in enumerate(noise.tolist())]

    assert len(watched(samples, CAUTION).new) <= (5 if hz < 3 else 1)


def test_a_value_that_went_inside_by_twice_the_jitter_and_comes_back_is_called_again():
    samples = [(0.0, 705.0), (1.0, 681.0), (2.0, 705.0), (3.0, 680.0), (4.0, 701.0)]

    assert [0.0, 4.0] == [at for at, _ in watched(samples, CAUTION).new]


def test_a_value_that_was_inside_for_a_while_and_comes_back_is_called_again():
    short = [(0.0, 705.0), (1.0, 699.0), (2.0, 699.0), (1.0 + QUIET - 0.1, 705.0)]
    long = [(0.0, 705.0), (1.0, 699.0), (2.0, 699.0), (1.0 + QUIET, 705.0)]

    assert [0.0] == [at for at, _ in watched(short, CAUTION).new]
    assert [0.0, 1.0 + QUIET] == [at for at, _ in watched(long, CAUTION).new]


def test_values_far_apart_are_called_each_time():
    samples = [(60.0 * i, value) for i, value in enumerate([705.0, 699.0, 705.0, 699.0, 705.0])]

    assert [0.0, 120.0, 240.0] == [at for at, _ in watched(samples, CAUTION).new]


def test_the_owner_says_how_much_a_gauge_jitters():
    samples = [(0.0, 705.0), (1.0, 696.0), (2.0, 705.0)]
    still = gauge(Limit(caution=band(None, "700")), jitter="2")

    assert [0.0] == [at for at, _ in watched(samples, CAUTION).new]
    assert [0.0, 2.0] == [at for at, _ in watched(samples, still).new]


def test_the_other_side_and_a_graver_limit_are_called_at_once():
    samples = [(0.0, 705.0), (0.1, 50.0), (0.2, 850.0), (0.3, 950.0), (0.4, 850.0)]
    seen = watched(samples, HEAT)

    assert [Kind.CAUTION, Kind.CAUTION, Kind.NEVER, Kind.NEVER, Kind.NEVER] == seen.kinds
    assert Decimal(800) == the(seen.memory, Kind.NEVER).limit


@given(st.lists(st.floats(0.0, 1000.0), min_size=1, max_size=60), RATES)
@settings(deadline=None)
def test_a_value_beyond_a_never_exceed_limit_always_stands(values: list[float], hz: float):
    """Invariant 5, whatever was before: found in the very sample that shows it."""
    memory = BLANK
    for i, value in enumerate(values):
        shown = Decimal(f"{value:.1f}")
        memory = look(HEAT, memory, "start", i / hz, shown)
        if shown > 800 or shown < 20:
            assert Kind.NEVER in found(memory)
        elif shown > 740:
            assert {Kind.TRANSIENT, Kind.NEVER} & set(found(memory))


# constants, jumps, noise, shifts


@given(st.floats(0.0, 1000.0), RATES)
@settings(deadline=None)
def test_a_constant_is_called_by_its_value_alone(value: float, hz: float):
    kinds = watched(feed(hz, (20.0, value, value))).kinds

    assert not {Kind.AHEAD, Kind.RATE} & set(kinds)
    if 100.0 <= round(value, 1) <= 700.0:
        assert [] == kinds
    assert len(kinds) <= 3  # the value, its time above, and that in all


@given(st.integers(0, 10_000), RATES, st.sampled_from([600.0, 695.0, 780.0]))
@settings(max_examples=30, deadline=None)
def test_noise_alone_has_no_rate_and_nothing_ahead(seed: int, hz: float, level: float):
    """Normal noise of a third of the jitter, up to six of it away from the limit, for a minute."""
    noise = np.random.default_rng(seed).normal(0.0, 10 / 3, round(60 * hz))
    samples = [(i / hz, level + value) for i, value in enumerate(noise.tolist())]

    assert not {Kind.AHEAD, Kind.RATE} & set(watched(samples).kinds)


@given(st.floats(120.0, 400.0), st.floats(401.0, 690.0), RATES, st.integers(1, 30))
@settings(deadline=None)
def test_a_jump_or_a_wild_sample_has_no_rate_and_nothing_ahead(
    low: float, high: float, hz: float, wild: int
):
    """No sound gauge moves like that: the feed tells of it, the limits do not guess."""
    values = [low] * 40 + [high] * wild + [low] * 40
    samples = [(i / hz, value) for i, value in enumerate(values)]

    assert [] == watched(samples).kinds


@st.composite
def walks(draw: st.DrawFn) -> Samples:
    """A feed at any rate that rises and falls, with gaps; times are exact in binary."""
    steps = draw(st.lists(st.integers(1, 200), min_size=5, max_size=60))
    rises = draw(st.lists(st.floats(-60.0, 60.0), min_size=len(steps), max_size=len(steps)))
    at, value = 0.0, 600.0
    out = []
    for step, rise in zip(steps, rises, strict=True):
        at += step / 64
        value = min(990.0, max(10.0, value + rise))
        out.append((at, value))
    return out


@given(walks(), st.integers(0, 4096))
@settings(deadline=None)
def test_the_same_an_hour_later(samples: Samples, later: int):
    now = watched(samples).new
    shifted = watched([(at + later, value) for at, value in samples]).new

    assert now == [(at - later, kind) for at, kind in shifted]


@given(walks())
@settings(deadline=None)
def test_the_order_in_which_limits_are_written_makes_no_difference(samples: Samples):
    orders = itertools.permutations((START, RUNNING, ALWAYS))
    each = [sorted(watched(samples, gauge(*order)).new, key=str) for order in orders]

    assert all(one == each[0] for one in each)


# time above


def test_a_transient_is_called_when_it_begins_and_when_its_time_is_over():
    """Above 740 from 1 s on, for at most 5 s: at 10 Hz the first sample past it is at 6.1 s."""
    seen = watched(feed(10.0, (1.0, 650.0, 650.0), (10.0, 760.0, 760.0)))

    assert (1.0, Kind.TRANSIENT) in seen.new
    # The line from 650 to 760 is above 740 for its last 20/110 of 0.1 s: 0.018 s.
    assert pytest.approx(6.0) == first(seen, Kind.TOO_LONG)
    assert pytest.approx(9.0) == first(seen, Kind.IN_ALL)


@given(walks())
@settings(max_examples=200)
def test_a_transient_is_never_called_before_its_time(samples: Samples):
    """The time above, counted here from 1000 points a line over all samples, gaps or not."""
    seen = watched(samples)
    for at, kind in seen.new:
        if kind in (Kind.TOO_LONG, Kind.IN_ALL):
            allowed = 5.0 if kind is Kind.TOO_LONG else 8.0
            assert allowed < _time_above(740.0, [s for s in samples if s[0] <= at]) + 0.05


def _time_above(limit: float, samples: Samples) -> float:
    return sum(
        (b[0] - a[0]) * float(np.mean(np.linspace(a[1], b[1], 1001) >= limit))
        for a, b in itertools.pairwise(samples)
    )


def test_two_peaks_of_a_start_are_added_up_and_another_start_begins_anew():
    """4.5 s and 4 s above 740: neither too long by itself, 8 s in all passed; then running."""
    up, down = (4.5, 760.0, 760.0), (3.0, 650.0, 650.0)
    seen = watched(feed(10.0, up, down, (4.0, 760.0, 760.0)))
    again = watched(feed(10.0, (4.0, 760.0, 760.0), begins=60.0), memory=moved(HEAT, moved(
        HEAT, seen.memory, "running"), "start"))  # fmt: skip

    assert Kind.TOO_LONG not in seen.kinds
    assert [Kind.IN_ALL] == [kind for kind in seen.kinds if kind is Kind.IN_ALL]
    assert Kind.IN_ALL not in again.kinds


def test_once_the_whole_time_is_used_up_every_further_exposure_is_called():
    up, down = (9.0, 760.0, 760.0), (6.0, 650.0, 650.0)
    seen = watched(feed(10.0, up, down, (0.5, 760.0, 760.0)))

    assert 2 == seen.kinds.count(Kind.IN_ALL)
    assert 1 == seen.kinds.count(Kind.TOO_LONG)


def test_time_in_a_gap_is_not_counted():
    """3 s above, 10 s of silence, 1.9 s above: 4.9 s are known of, and 5 are allowed."""
    seen = watched(feed(10.0, (3.1, 760.0, 760.0)) + feed(10.0, (2.0, 760.0, 760.0), begins=13.0))

    assert Kind.TOO_LONG not in seen.kinds
    assert pytest.approx(4.9) == seen.memory.limits[0].exposure.seconds


def test_time_while_a_sensor_was_not_trusted_is_not_counted():
    one = watched(feed(10.0, (3.1, 760.0, 760.0)))
    seen = watched(feed(10.0, (2.0, 760.0, 760.0), begins=4.0), memory=broken_off(one.memory))

    assert pytest.approx(4.9) == seen.memory.limits[0].exposure.seconds


# values read aloud


def test_values_read_aloud_give_no_slope_unless_they_come_close_together():
    sparse = [(3.0 * i, 100.0 + 150.0 * i) for i in range(5)]
    dense = [(0.8 * i, 100.0 + 150.0 * i) for i in range(5)]

    assert [] == watched(sparse, gauge(replace(START, transient=None)), spoken=True).kinds
    assert Kind.RATE in watched(dense, spoken=True).kinds


def test_of_values_read_aloud_only_a_transient_is_found_because_the_listener_judges_the_rest():
    samples = [(0.0, 705.0), (5.0, 850.0), (10.0, 760.0), (15.0, 765.0), (20.0, 650.0)]

    assert [(10.0, Kind.TRANSIENT)] == watched(samples, spoken=True).new


# the engine's state


def test_what_belongs_to_another_engine_state_is_forgotten():
    seen = watched(feed(10.0, (6.0, 760.0, 760.0)))
    now = moved(HEAT, seen.memory, "running")

    assert () == now.findings
    assert None is now.limits[0]
    assert look(HEAT, BLANK, "running", 9.0, Decimal(600)).findings == ()


def test_what_always_holds_stands_through_a_change_of_state():
    seen = watched([(0.0, 950.0)], state="running")
    now = watched([(0.1, 950.0)], state="cool-down", memory=seen.memory)

    assert ["any"] == [finding.state for finding in now.memory.findings]
    assert [] == now.new


def test_a_memory_begins_blank():
    assert BLANK == Memory()
    assert Sample(1.0, 500.0) == look(HEAT, BLANK, "start", 1.0, Decimal(500)).sample
