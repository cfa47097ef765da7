"""Limits over time: how fast a value moves, and where it will be soon."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from engine_aircraft import band
from limit_feeds import (
    HEAT,
    START,
    feed,
    first,
    found,
    gauge,
    the,
    watched,
)

from callout.checklist.model import Limit, Transient
from callout.engine.limit_findings import Kind
from callout.engine.limit_memory import look


@pytest.mark.parametrize("hz", [1.0, 5.0, 10.0, 100.0])
def test_a_rise_faster_than_allowed_is_called_and_a_slower_one_is_not(hz: float):
    slow, fast = feed(hz, (4.0, 100.0, 680.0)), feed(hz, (4.0, 100.0, 740.0))

    assert Kind.RATE not in watched(slow).kinds  # 145 a second
    assert Kind.RATE in watched(fast).kinds  # 160 a second
    assert ("above", Decimal(150)) == the(watched(fast).memory, Kind.RATE)[2:4]


def test_a_fall_faster_than_allowed_is_called():
    seen = watched(feed(10.0, (1.0, 690.0, 690.0), (1.5, 690.0, 210.0)))

    assert "below" == the(seen.memory, Kind.RATE).side
    assert pytest.approx(320.0, rel=0.05) == the(seen.memory, Kind.RATE).seen


def test_a_small_rate_is_taken_over_a_longer_time():
    """2 a second at a jitter of 10: over 20 s, so that noise is no rate."""
    slow = gauge(Limit(rate_at_most=Decimal(2)))
    noise = np.random.default_rng(1).normal(0.0, 10 / 3, 6000).tolist()
    still = watched([(i / 100, 600.0 + v) for i, v in enumerate(noise)], slow)
    rising = watched([(i / 100, 500.0 + 0.03 * i + v) for i, v in enumerate(noise)], slow)

    assert [] == still.kinds
    assert [Kind.RATE] == rising.kinds


def test_a_rate_that_goes_on_is_called_once_and_one_that_recurs_again():
    once = feed(10.0, (3.0, 100.0, 600.0), (4.0, 600.0, 600.0))
    again = feed(10.0, (7.0, 600.0, 100.0), (3.0, 100.0, 600.0), begins=7.0)

    assert 1 == watched(once).kinds.count(Kind.RATE)
    assert 2 == watched(once + again).kinds.count(Kind.RATE)


# ahead


@pytest.mark.parametrize("hz", [5.0, 10.0, 30.0, 100.0])
def test_a_limit_is_called_before_a_steady_rise_gets_there(hz: float):
    """200 a second from 300 to the limit, 800, at 2.5 s: called at most half a second before.

    The jitter, 10, takes 0.05 s of it, and a sample more at a slow feed.
    """
    seen = watched(feed(hz, (2.0, 300.0, 300.0), (3.0, 300.0, 900.0)))
    lead = first(seen, Kind.NEVER) - first(seen, Kind.AHEAD)

    assert 0.45 - 1.0 / hz <= lead <= 0.5 + 1.0 / hz


def test_the_owner_says_how_long_before():
    early = gauge(replace(START, look_ahead=2.0))
    seen = watched(feed(10.0, (2.0, 300.0, 300.0), (6.0, 300.0, 900.0)), early)

    assert 1.7 <= first(seen, Kind.NEVER) - first(seen, Kind.AHEAD) <= 2.1


def test_or_that_nothing_is_to_be_seen_ahead():
    none = gauge(replace(START, look_ahead=0.0))
    seen = watched(feed(10.0, (2.0, 300.0, 300.0), (3.0, 300.0, 900.0)), none)

    assert Kind.AHEAD not in seen.kinds


def test_a_rise_that_bends_away_below_the_limit_is_not_called():
    """As exhaust temperature goes at light-off: 700 (1 - exp(-t / 0.6)): 1170 a second at first."""
    samples = [(i / 100, 700.0 * (1.0 - math.exp(-i / 60))) for i in range(500)]

    assert Kind.AHEAD not in watched(samples).kinds


def test_the_same_rise_towards_a_value_far_beyond_the_limit_is_called():
    samples = [(i / 100, 30.0 + 1000.0 * (1.0 - math.exp(-i / 60))) for i in range(300)]
    seen = watched(samples)

    assert first(seen, Kind.AHEAD) + 0.1 < first(seen, Kind.NEVER)


def test_a_fall_towards_a_lowest_value_is_called():
    pressure = gauge(Limit("running", never=band("200", None)))
    samples = feed(10.0, (2.0, 700.0, 700.0), (3.0, 700.0, 100.0))
    seen = watched(samples, pressure, "running")

    assert "below" == the(seen.memory, Kind.NEVER).side
    assert 0.3 <= first(seen, Kind.NEVER) - first(seen, Kind.AHEAD) <= 0.6


def test_a_feed_too_slow_for_its_look_ahead_sees_nothing_ahead():
    samples = feed(2.0, (4.0, 300.0, 300.0), (6.0, 300.0, 900.0))

    assert Kind.AHEAD not in watched(samples).kinds
    assert Kind.NEVER in watched(samples).kinds


def test_what_was_seen_ahead_has_come_when_the_limit_is_passed():
    seen = watched(feed(10.0, (2.0, 300.0, 300.0), (3.0, 300.0, 900.0)))

    assert [Kind.NEVER] == [kind for kind in found(seen.memory) if kind in (Kind.NEVER, Kind.AHEAD)]


def test_a_gap_is_no_rise():
    samples = feed(10.0, (2.0, 300.0, 300.0)) + feed(10.0, (0.4, 690.0, 700.0), begins=5.0)

    assert [] == watched(samples).kinds


def test_a_late_sample_counts_by_its_value_alone():
    one = watched(feed(10.0, (2.0, 300.0, 300.0)))
    late = look(HEAT, one.memory, "start", 1.05, Decimal(950))

    assert [Kind.NEVER] == found(late)
    assert one.memory.sample == late.sample
    assert one.memory.limits == late.limits


def test_a_ceiling_of_a_transient_is_seen_ahead_too():
    one = gauge(Limit("start", transient=Transient(Decimal(740), 5.0, Decimal(800))))
    seen = watched(feed(10.0, (2.0, 300.0, 300.0), (3.0, 300.0, 900.0)), one)

    assert first(seen, Kind.AHEAD) < first(seen, Kind.NEVER)
