"""The watch over a start beside everything else: held lists, warnings, sensors, a kill."""

from __future__ import annotations

from decimal import Decimal

import pytest
from engine_rig import in_hand, mode
from engine_start import HEAT, SPEED, answer_until, hot, replayed, starting

from callout.engine.events import (
    FeedFault,
    FeedGood,
    Heard,
    Lost,
    NotUnderstood,
    Reading,
    Restored,
    Resumed,
)
from callout.engine.rules import State

# -------------------------------------------------------------- whatever else is going on


@pytest.mark.parametrize(
    ("words", "state"),
    [
        ("hold", State.HOLDING),
        ("stand by", State.STANDING_BY),
        ("override", State.REASONING),
        ("why", State.AWAITING),
    ],
)
def test_the_watch_goes_on_while_the_pilot_does_something_else(words: str, state: State):
    one = starting().lit().tell(words)
    assert state is mode(one)
    one.feed(1.0, heat=560.0).feed(1.0, heat=900.0)

    assert ["hot-start"] == one.faults
    assert ("hot-start", "fuel-lever") == (one.list_id, in_hand(one))
    assert State.ASKING is mode(one)


def test_an_answer_meant_for_the_start_list_ticks_nothing_of_the_abort():
    one = starting().lit()
    serial = one.session.state.grammar.serial
    one.feed(1.0, heat=560.0).feed(1.0, heat=900.0)
    one.handle(Heard("closed", 1.0, serial, one.now - 3.0, one.now, "test"))

    assert "fuel-lever" == in_hand(one)
    assert [] == [about for about in one.about("ticked") if about.startswith("hot-start")]


def test_the_abort_breaks_in_while_a_warning_of_a_limit_stands():
    one = starting().lit()
    one.handle(Reading("battery-voltage", Decimal("14.0"), one.now))
    one.read(SPEED, 105.0)
    assert "gas-generator-speed/NEVER" in one.session.state.passed
    one.speed = 23.0
    one.feed(1.0, heat=560.0).feed(1.0, heat=900.0)

    assert ["hot-start"] == one.faults


def test_a_fault_is_called_once_and_the_abort_list_is_run_like_any_other():
    one = hot(starting())
    one.feed(20.0, speed=20.0, heat=200.0).say("closed", "still turning").feed(4.0)

    assert ["hot-start"] == one.faults
    assert "starter-released" == in_hand(one)


def test_the_pilots_own_abort_ends_the_watch():
    one = starting().lit().tell("abort").wait(60.0)

    assert [] == one.faults
    assert ["broken off"] == [d["outcome"] for d in one.data("start watched")]


def test_a_second_start_is_watched_anew():
    one = starting().lit().tell("abort")
    one.say("closed", "still turning", "two zero zero", "safe", "released", "stopped")
    one.hear_out()
    one.say("open start")
    answer_until(one, "start/starter")
    one.say("engaged")

    assert 2 == len(one.data("start began"))


# ------------------------------------------------------------------ sensors and faults of them


def test_a_lost_feed_is_said_once_and_the_pilots_values_go_on():
    one = starting().lit()
    said = one.handle_said(Lost("feed", "unplugged"))
    one.wait(20.0).say("five one").say("released", "dark", "six four")

    assert ["Gauge feed lost. Read the gauges aloud."] == said
    assert [] == one.faults
    assert "idle" == one.data("start phase")[-1]["phase"]


def test_after_a_lost_feed_the_times_still_run():
    one = starting().lit()
    one.handle(Lost("feed", "unplugged"))
    one.wait(34.5)
    assert [] == one.faults  # he may be saying the value
    one.wait(2.0)

    assert ["hung-start"] == one.faults


def test_a_gauge_that_is_not_seen_when_its_time_is_up_is_asked_for_before_anything_is_called():
    one = starting()
    one.light = 1.0
    one.feed(12.0, speed=12.0)
    one.wait(0.5)
    one.handle(FeedFault(SPEED, "stuck", "5.0 for 2 s"))
    one.wait(2.7)
    asked = one.data("start phase not seen")
    one.wait(2.0).tell("speed one eight").wait(5.0)

    assert [{"phase": "fuel-speed"}] == asked
    assert [] == one.faults
    assert ["fuel-speed"] == [d["phase"] for d in one.data("start phase")]


def test_a_pilot_who_does_not_call_it_either_gets_the_abort_a_few_seconds_later():
    one = starting()
    one.light = 1.0
    one.feed(12.0, speed=12.0)
    one.wait(0.5)
    one.handle(FeedFault(SPEED, "stuck", "5.0 for 2 s"))
    one.wait(5.9)
    assert [] == one.faults
    one.wait(0.2)

    assert ["slow-rotation"] == one.faults


@pytest.mark.parametrize("value", ["NaN", "Infinity"])
def test_what_is_no_number_is_no_value(value: str):
    one = starting().lit()
    one.handle(Reading(HEAT, Decimal(value), one.now))

    assert [] == one.faults


def test_a_sensor_that_jumps_is_believed_again_after_six_tenths_of_a_second():
    one = starting().lit()
    one.handle(FeedFault(HEAT, "jumps", "from 500 to 900"))
    one.wait(0.4)
    for _ in range(3):
        one.wait(0.05)
        one.read(HEAT, 900.0)
    assert [] == one.faults
    one.wait(0.5)
    one.read(HEAT, 500.0)
    one.heat = 900.0
    one.feed(0.5)
    assert [] == one.faults
    one.feed(0.3)

    assert ["hot-start"] == one.faults


def test_a_stuck_speed_is_no_hung_start():
    one = starting().lit().feed(10.0, speed=40.0, heat=650.0)
    for _ in range(40):
        one.wait(0.05)
        one.read(SPEED, 40.0)
    one.handle(FeedFault(SPEED, "stuck", "40.0 for 2 s"))
    one.wait(5.0)
    one.handle(FeedGood(SPEED))
    one.feed(0.3, speed=49.0).feed(1.0, speed=51.0)

    assert [] == one.faults


def test_one_and_the_same_number_shows_no_stall_but_a_speed_that_creeps_does():
    same, creeps = starting().lit(), starting().lit()
    for one, step in ((same, 0.0), (creeps, 0.1)):
        one.feed(10.0, speed=40.0, heat=650.0)
        for count in range(70):
            one.wait(0.1)
            one.read(SPEED, 40.0 + step * (count % 2))

    assert [] == same.faults
    assert ["hung-start"] == creeps.faults


def test_what_crept_before_the_light_does_not_count_as_a_stall_after_it():
    one = starting()
    one.light = 1.0
    one.feed(6.0, speed=20.0).tell("engaged").feed(0.2).tell("opened")
    one.feed(8.0, speed=20.8).feed(2.0, speed=22.0, heat=500.0).feed(3.0, speed=25.0)

    assert [] == one.faults


def test_a_feed_that_comes_back_counts_again():
    one = starting().lit()
    one.handle(Lost("feed", "unplugged"))
    one.wait(2.0)
    one.handle(Restored("feed"))
    one.feed(1.0, heat=560.0).feed(1.0, heat=900.0)

    assert ["hot-start"] == one.faults


@pytest.mark.parametrize("over", [FeedGood(""), Restored("feed")])
def test_when_a_fault_of_the_whole_feed_ends_a_sensor_with_one_of_its_own_is_not_believed(over):
    one = starting().lit()
    wrong = FeedFault("", "frozen", "") if isinstance(over, FeedGood) else Lost("feed", "")
    one.handle(FeedFault(HEAT, "jumps", "from 500 to 900"))
    one.handle(wrong)
    one.wait(0.2)
    one.handle(over)
    one.read(HEAT, 900.0)
    assert [] == one.faults
    one.handle(FeedGood(HEAT))
    one.read(HEAT, 900.0)

    assert ["hot-start"] == one.faults


def test_nor_does_the_end_of_a_sensors_own_fault_end_that_of_the_feed():
    one = starting()
    one.light = 1.0
    one.feed(12.0, speed=12.0)
    one.handle(FeedFault("", "frozen", ""))
    one.handle(FeedFault(SPEED, "stuck", ""))
    one.handle(FeedGood(SPEED))
    one.wait(3.2)

    assert [{"phase": "fuel-speed"}] == one.data("start phase not seen")


def test_a_sensor_that_fails_takes_nothing_from_what_another_gauge_held():
    one = starting().halfway().feed(8.0, speed=63.0, heat=450.0).feed(1.5)
    reached = one.now
    one.handle(FeedFault(HEAT, "silent", ""))
    one.feed(2.0)

    (idle,) = [d for d in one.data("start phase") if d["phase"] == "idle"]
    assert one.zero + one.began + float(idle["at"]) < reached + 2.0


# ------------------------------------------------------------------------ kill and resume


def test_a_replay_comes_to_the_same_watch():
    one = starting().lit().feed(5.0, speed=30.0, heat=600.0)

    assert one.session.state == replayed(one)
    assert one.session.state.watch is not None


def test_after_a_kill_the_phase_gets_its_time_anew_and_what_shows_is_called():
    one = starting().lit()
    one.wait(8.0)
    one.now += 15.0
    said = one.handle_said(Resumed(15.0))
    one.wait(12.0)
    assert [] == one.faults
    one.feed(1.0, heat=560.0).feed(1.0, heat=900.0)

    assert "Start watch goes on at half speed." in said
    assert ["hot-start"] == one.faults


def test_after_a_long_time_away_nothing_is_known_of_the_start():
    one = starting().lit()
    one.now += 100.0
    said = one.handle_said(Resumed(100.0))
    one.wait(100.0)

    assert "Start watch ended." in said
    assert [] == one.faults
    assert ["not watched"] == [d["outcome"] for d in one.data("start watched")]


def test_what_is_not_understood_does_not_stop_the_watch():
    one = starting().lit()
    serial = one.session.state.grammar.serial
    one.handle(NotUnderstood("not in the grammar", "hm", 0.2, serial, one.now, one.now))
    one.feed(1.0, heat=560.0).feed(1.0, heat=900.0)

    assert ["hot-start"] == one.faults
