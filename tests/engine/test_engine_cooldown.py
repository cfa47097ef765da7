"""The cool-down: from when it counts, its marks, what waits for it.

That the time starts on a condition, starts again when power is raised, and that an
engine may not be stopped before it is over: handbooks of turbine helicopters and
mechanics' texts, as quoted in the project's reading of them; its length is data.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from duties_rig import COOL, at_wait, cooling, done, facts, named, opened, read
from engine_rig import in_hand

from callout.engine.events import Event, FeedFault, Lost, Resumed


def test_it_counts_from_the_tick_and_the_wait_ends_with_it():
    one = at_wait()
    began = one.now
    one.wait(119.9)
    assert "wait" == in_hand(one)
    one.wait(0.2)

    assert "cooler" == in_hand(one)
    assert done(one)
    assert [began + 120.0] == one.times("Wait, time complete.")
    assert [] == one.times("Cool down complete.")


def test_marks_are_said_at_their_moments_once():
    one = at_wait()
    began = one.now
    one.wait(121.0)

    assert [began + 60.0] == one.times("One minute remaining.")
    assert [began + 90.0] == one.times("Three zero seconds remaining.")
    assert [began + 110.0] == one.times("One zero seconds remaining.")


def test_without_a_starting_item_the_wait_starts_it():
    one = at_wait(replace(COOL, starts=()))
    one.wait(120.0)

    assert done(one)


def test_a_wait_that_is_reached_late_lasts_only_what_is_left():
    one = opened(cooling(replace(COOL, starts=("fly/door",))), "fly", "cool").say("ready")
    began = one.now
    one.say("proceed", "six zero")
    assert any("Wait. One minute" in text for text in one.said)
    one.wait(began + 120.0 - one.now)

    assert "cooler" == in_hand(one)


def test_readings_in_their_bands_start_it_and_not_before_all_are_there():
    one = opened(cooling(), "cool", "shut")
    read(one, "speed", "60")
    read(one, "heat", "600")
    assert [] == facts(one, "cool-down started")
    read(one, "heat", "555")
    began = one.now

    assert 1 == len(facts(one, "cool-down started"))
    one.wait(3.0).say("six zero").wait(began + 120.0 - one.now)
    assert done(one)


def test_readings_start_nothing_in_a_list_that_is_not_named():
    """The same figures are seen while the engine warms up."""
    one = opened(cooling(), "fly", "cool")
    read(read(one, "speed", "60"), "heat", "500")

    assert [] == facts(one, "cool-down started")


def test_what_nobody_reads_any_more_starts_nothing():
    for event in (Lost("feed", "gone"), FeedFault("heat", "stuck", "stuck at 500")):
        one = opened(cooling(), "cool", "shut")
        read(one, "heat", "500")
        one.handle(event)
        read(one, "speed", "60")
        assert [] == facts(one, "cool-down started")


def test_power_that_is_raised_starts_it_again_and_is_said_once():
    one = at_wait()
    read(one, "speed", "60", 50.0)
    for _ in range(10):
        read(one, "speed", "85", 0.5)
    raised = one.now
    read(one, "speed", "60", 0.5)
    one.wait(raised + 120.0 - one.now - 0.1)

    assert 1 == len(one.times("Power raised. Cool down starts again, two minutes."))
    assert not done(one)
    assert "wait" == in_hand(one)
    one.wait(0.1)
    assert done(one)
    assert "cooler" == in_hand(one)
    assert ["power raised", "idle again"] == named(one, "power raised", "idle again")


def test_marks_count_from_the_last_raised_reading():
    one = at_wait()
    read(one, "heat", "600", 70.0)
    began = one.now
    one.wait(121.0)

    assert began + 60.0 in one.times("One minute remaining.")
    assert [began + 110.0] == one.times("One zero seconds remaining.")


def test_the_pilot_may_say_that_power_was_raised():
    one = at_wait().wait(100.0)
    one.say("power raised")
    began = one.now
    assert "Power raised. Cool down starts again, two minutes." in one.said
    one.wait(119.9)

    assert not done(one)
    one.wait(0.1)
    assert done(one)
    assert began + 120.0 == one.now


def test_a_value_called_out_above_the_band_starts_it_again():
    """Without a feed the pilot's own words are the readings."""
    one = at_wait().wait(120.0)
    assert done(one)
    one.say("five nine zero")

    assert ["cool/cooler"] == [path for path in one.about("ticked") if path == "cool/cooler"]
    assert [{"by": "heat"}] == facts(one, "power raised")
    assert not done(one)


def test_the_words_count_only_while_there_is_something_to_start_again():
    one = opened(cooling(), "cool", "shut")
    heard = [phrase.text for phrase in one.session.state.grammar.phrases]
    assert "power raised" not in heard
    one.say("six zero")
    assert "power raised" in [phrase.text for phrase in one.session.state.grammar.phrases]


def test_it_is_started_again_even_after_it_was_done():
    one = at_wait().wait(120.0)
    read(one, "speed", "85")

    assert not done(one)
    assert 1 == len(one.times("Power raised."))


def test_the_next_flight_needs_its_own():
    one = at_wait(COOL, 2.0, "fly", "shut").wait(120.0).say("five five zero")
    assert done(one)
    one.say("proceed")

    assert not done(one)


def test_a_wrong_tick_has_started_nothing():
    one = at_wait().say("go back")
    assert ["cool-down not begun"] == named(one, "cool-down not begun")
    assert one.session.state.duties.cooling.began is None


def test_after_a_crash_the_time_left_is_the_right_one():
    one = at_wait().wait(20.0)
    began = one.now - 20.0
    one.now += 55.0
    one.handle(Resumed(55.0))
    one.wait(began + 119.9 - one.now)
    assert not done(one)
    one.wait(0.2)

    assert done(one)
    assert [began + 120.0] == one.times("Wait, time complete.")


def test_power_that_was_raised_before_a_crash_counts_as_raised_until_the_program_is_back():
    one = at_wait()
    read(one, "speed", "60", 10.0)
    read(one, "speed", "85", 30.0)
    one.now += 50.0
    one.handle(Resumed(50.0))
    back = one.now
    one.wait(119.9)
    assert not done(one)
    assert back in one.times("Power raised. Cool down starts again, two minutes.")
    one.wait(0.2)

    assert done(one)


def test_after_a_crash_every_gauge_is_read_anew_before_it_starts_by_itself():
    one = opened(cooling(), "cool", "shut")
    read(one, "speed", "60")
    one.now += 50.0
    one.handle(Resumed(50.0))
    read(one, "heat", "500")

    assert [] == facts(one, "cool-down started")


@pytest.mark.parametrize("event", [Lost("feed", "gone"), FeedFault("speed", "stuck", "stuck")])
def test_power_that_is_raised_when_its_gauge_is_lost_was_raised_until_then(event: Event):
    """The other gauge in its band does not say that power is down again."""
    one = at_wait()
    read(one, "heat", "500", 5.0)
    read(one, "speed", "85", 30.0)
    one.wait(10.0)
    one.handle(event)
    for _ in range(11):
        read(one, "heat", "500", 10.0)
    one.wait(9.9)

    assert not done(one)
    one.wait(0.2)
    assert done(one)


def test_a_mark_that_passed_while_the_program_was_away_is_not_said():
    one = at_wait().wait(20.0)
    one.now += 75.0
    one.handle(Resumed(75.0))
    one.wait(100.0)

    assert [] == one.times("One minute remaining.")
    assert 1 == len(one.times("One zero seconds remaining."))


def test_one_that_was_over_during_a_crash_is_done_at_once():
    one = at_wait()
    one.now += 500.0
    one.handle(Resumed(500.0))
    one.wait(0.0)

    assert done(one)
    one.say("resume").wait(1.0)
    assert "cooler" == in_hand(one)


def test_a_reading_without_a_number_means_nothing():
    one = at_wait()
    read(one, "speed", "NaN")

    assert [] == facts(one, "power raised")


def test_without_a_cool_down_nothing_waits():
    one = opened(cooling(None), "shut", "end").say("closed")

    assert ["shut/lever"] == one.about("ticked")
