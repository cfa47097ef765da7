"""Limits in a session: how long what a gauge has shown still counts, and what ends that."""

from __future__ import annotations

from decimal import Decimal

import pytest
from limit_feeds import feed
from limit_talk import ALLOWED, answer, fed, talking

from callout.engine.events import Event, FeedFault, Lost, Reading, Resumed
from callout.engine.trend import LONGEST_GAP

CAUTION = "Caution. Exhaust temperature six nine zero degrees, at most six eight zero."


def test_a_value_that_stands_beyond_a_limit_of_the_next_engine_state_is_called_at_once():
    """690 is no caution while starting (700), but one while running (680)."""
    one = talking().say("ready", "ready")
    one.handle(Reading("heat", Decimal(690), one.now))
    assert [] == one.said

    assert CAUTION in answer(one, "proceed")
    assert [] == fed(one, [(0.1, 690.0)])


def test_an_old_value_is_not_taken_for_one_that_stands():
    one = talking().say("ready", "ready")
    one.handle(Reading("heat", Decimal(690), one.now))

    assert CAUTION not in answer(one, "proceed", LONGEST_GAP + 0.5)
    assert [CAUTION] == fed(one, [(0.1, 690.0)])


def test_what_stood_in_another_engine_state_is_over():
    one = talking().say("ready", "ready")
    fed(one, feed(10.0, (1.0, 650.0, 650.0), (1.0, 735.0, 735.0)))
    assert {"heat/CAUTION"} == one.session.state.passed
    answer(one, "proceed")

    assert {"heat/NEVER"} == one.session.state.passed
    assert "Warning. Exhaust temperature seven three five degrees, never above seven two zero." in (
        one.said
    )


def test_time_above_is_forgotten_with_the_engine_state():
    one = talking().say("ready", "ready")
    fed(one, feed(10.0, (4.0, 750.0, 750.0)))
    answer(one, "proceed")

    assert 0.0 == one.session.state.seen["heat"].limits[1].exposure.total
    assert None is one.session.state.seen["heat"].limits[0]


def test_a_second_start_has_its_own_time_in_all():
    """4 s and 4.5 s above 740 in two starts; in one of them 8 s would have been passed."""
    one = talking()
    fed(one, feed(10.0, (4.1, 750.0, 750.0), (4.0, 600.0, 600.0)))
    one.say("ready", "ready", "open start")
    said = fed(one, feed(10.0, (4.6, 750.0, 750.0)))

    assert "start" == one.session.state.run.list_id
    assert [ALLOWED] == said
    assert pytest.approx(4.5) == one.session.state.seen["heat"].limits[0].exposure.total


@pytest.mark.parametrize(
    "event",
    [
        Lost("feed", "gone"),
        FeedFault("heat", "silent", ""),
        FeedFault("", "clock", ""),
        Resumed(1.0),
    ],
)
def test_of_a_time_when_nobody_looked_nothing_is_counted(event: Event):
    """3.4 s above, then the feed fails for a second, then 1.9 s: 5 s are not passed."""
    one = talking()
    fed(one, feed(10.0, (3.5, 750.0, 750.0)))
    one.handle(event)
    one.now += 1.0
    fed(one, feed(10.0, (2.0, 750.0, 750.0)))

    assert pytest.approx(5.3) == one.session.state.seen["heat"].limits[0].exposure.seconds
    assert 1 == len([fact for fact in one.facts if dict(fact.data).get("kind") == "too long"])


def test_of_another_sensors_fault_nothing_is_broken_off():
    one = talking()
    fed(one, feed(10.0, (3.0, 750.0, 750.0)))
    one.handle(FeedFault("speed", "silent", ""))

    assert 30 == len(feed(10.0, (3.0, 750.0, 750.0)))
    assert one.session.state.seen["heat"].sample is not None


def test_a_gauge_without_limits_is_not_remembered():
    one = talking()
    fed(one, [(0.0, 20.0)], "speed")

    assert {} == one.session.state.seen
