"""An awaited condition by a feed whose lines come late, many at once."""

from __future__ import annotations

from decimal import Decimal

from engine_rig import in_hand
from engine_start import SPEED, answer_until, starting

from callout.engine.events import Reading


def at_idle_speed():
    one = starting().halfway().feed(4.0, speed=58.0, heat=450.0)
    return answer_until(one, "start/idle-speed")


def test_lines_that_tell_of_a_moment_only_hold_no_condition_for_seconds():
    one = at_idle_speed()
    one.handle(Reading(SPEED, Decimal("63.0"), one.now))
    first = one.now
    one.wait(4.0)
    for later in (0.1, 0.2):  # it has been in the band for 0.2 s as far as anybody has seen
        one.handle(Reading(SPEED, Decimal("63.0"), first + later))

    assert "idle-speed" == in_hand(one)


def test_lines_that_tell_of_the_whole_time_do():
    one = at_idle_speed()
    first = one.now
    one.wait(4.0)
    for tenth in range(38):
        one.handle(Reading(SPEED, Decimal("63.0"), first + 0.1 * tenth))

    assert "start/idle-speed" in one.about("ticked")
