"""The run-down against the machine's own, and the watch for a fire after fuel-off."""

from __future__ import annotations

import math
import statistics
from decimal import Decimal

import pytest
from duties_rig import DOWN, FIRE, Noted, cooling, facts, opened, read
from engine_rig import in_hand
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import median_abs_deviation

from callout.engine.effects import Priority, Say
from callout.engine.events import Reading
from callout.engine.rundown_compare import LATEST, compare, median

TWENTY = Decimal(20)


def shut(**past: object) -> Noted:
    """Fuel is off this moment."""
    one = opened(cooling(None, run_down=DOWN, residual_fire=FIRE), "shut", "end", **past)
    return one.say("closed")


def usual(*seconds: float, by: str = "gauge") -> dict[str, object]:
    return {"run_downs": tuple((by, one) for one in seconds)}


def test_it_is_timed_from_the_tick_to_the_reading():
    one = read(read(shut(), "speed", "40", 20.0), "speed", "0", 22.0)
    read(one, "speed", "0")

    assert [("42.00", "gauge")] == [(d["seconds"], d["by"]) for d in facts(one, "run-down")]


def test_it_is_timed_to_the_words_or_to_the_tick_where_no_gauge_shows_it():
    by_words = shut().wait(27.0).say("rotor stands")
    by_item = shut().say("three zero zero", "ready")

    assert [("30.00", "words")] == [(d["seconds"], d["by"]) for d in facts(by_words, "run-down")]
    assert ["item"] == [d["by"] for d in facts(by_item, "run-down")]


def test_the_words_count_only_while_it_runs_down():
    one = opened(cooling(None, run_down=DOWN), "shut", "end")
    assert "rotor stands" not in [phrase.text for phrase in one.session.state.grammar.phrases]
    one.say("closed")
    assert "rotor stands" in [phrase.text for phrase in one.session.state.grammar.phrases]
    one.say("rotor stands")
    assert "rotor stands" not in [phrase.text for phrase in one.session.state.grammar.phrases]


def test_a_correction_with_the_same_answer_is_no_later_fuel_off():
    one = shut().wait(10.0).say("correction closed")
    read(one, "speed", "0", 10.0)

    assert [23.0] == [float(data["seconds"]) for data in facts(one, "run-down")]


@pytest.mark.parametrize(("took", "said"), [(32.0, 1), (33.0, 0), (60.0, 0)])
def test_one_that_is_a_fifth_shorter_than_usual_is_said_once(took: float, said: int):
    one = read(shut(**usual(40.0, 41.0, 39.0, 40.0, 40.5)), "speed", "0", took)
    read(one, "speed", "0")

    assert said == len(one.times("Run down short"))
    if said:
        assert 1 == len(one.times("Caution. Run down short: three two seconds, usually"))


def test_too_few_past_ones_say_nothing():
    one = read(shut(**usual(40.0, 41.0, 39.0, 40.0)), "speed", "0", 10.0)

    assert [] == one.times("Run down short")
    assert ["seconds", "by"] == sorted(facts(one, "run-down")[0], reverse=True)


def test_those_told_another_way_are_not_compared_with():
    """A pilot takes longer to say it than a gauge to show it."""
    past = usual(80.0, 81.0, 79.0, 80.0, 80.5, by="words")
    one = read(shut(**past), "speed", "0", 40.0)

    assert [] == one.times("Run down short")


def test_a_fuel_off_that_was_passed_is_no_moment_to_time_from():
    one = opened(cooling(None, run_down=DOWN), "shut", "end")
    one.say("override", "already done", "confirm override")
    read(one, "speed", "0", 30.0)

    assert [] == facts(one, "run-down")


@given(st.lists(st.floats(1.0, 500.0), min_size=1, max_size=30))
def test_the_median_is_that_of_the_standard_library(values: list[float]):
    assert statistics.median(values) == median(values)


@given(st.lists(st.floats(1.0, 500.0), min_size=5, max_size=LATEST), st.floats(1.0, 500.0))
def test_the_score_is_that_of_a_library(values: list[float], took: float):
    """scipy's median absolute deviation, scaled to a standard deviation: 1 / 0.6745."""
    found = compare(took, values, TWENTY, 5)
    assert found is not None
    scatter = float(median_abs_deviation(values, scale="normal"))
    if found.score is None:
        assert 0.0 == scatter
    else:
        expected = (took - statistics.median(values)) / scatter
        assert math.isclose(expected, found.score, rel_tol=1e-3, abs_tol=1e-3)


def test_half_of_the_past_may_be_wrong_before_the_median_is():
    """Breakdown point of the median, 50 %: Iglewicz and Hoaglin (1993)."""
    found = compare(39.0, [40.0] * 6 + [400.0] * 5, TWENTY, 5)

    assert found is not None
    assert (40.0, False) == (found.usual, found.short)
    assert statistics.mean([40.0] * 6 + [400.0] * 5) > 200.0


def test_only_the_latest_ones_count():
    found = compare(30.0, [60.0] * 50 + [31.0] * LATEST, TWENTY, 5)

    assert found is not None
    assert (31.0, LATEST, False) == (found.usual, found.of, found.short)


# fire


def opened_fire(one: Noted) -> bool:
    return "burning" in one.about("list opened")


def test_a_temperature_that_rises_again_is_called_and_its_list_opens_in_that_step():
    one = shut()
    for value in ("500", "300", "280", "280"):
        read(one, "heat", value, 5.0)
    read(read(one, "heat", "339"), "heat", "340", 0.01)
    assert not opened_fire(one), "one alone shows nothing"
    one.now += 0.01
    effects = one.handle(Reading("heat", Decimal("340"), one.now))

    said = [effect for effect in effects if isinstance(effect, Say)]
    assert Priority.WARNING is said[0].priority
    assert "Warning. Exhaust temperature three four zero degrees, rising after fuel off." == (
        said[0].text
    )
    assert opened_fire(one)
    assert "motor" in in_hand(one)
    assert ["shut"] == one.about("list aborted")


def test_one_that_stays_high_is_called_when_it_should_have_fallen():
    one = shut()
    read(one, "heat", "600", 30.0)
    read(one, "heat", "590", 29.0)
    assert not opened_fire(one)
    read(one, "heat", "580", 1.1)

    assert 1 == len(one.times("after fuel off"))
    assert opened_fire(one)


@pytest.mark.parametrize("wild", ["20", "580"])
def test_a_single_wild_value_is_no_fire_and_no_cold(wild: str):
    """A loose plug at a slow feed: its step may be one that the machine can make."""
    one = shut()
    for value in ("320", "310", "300", wild, "300", "299", "298", wild, "298"):
        read(one, "heat", value, 20.0)

    assert not opened_fire(one)


def test_a_single_low_value_does_not_end_a_fire_that_was_called():
    one = read(read(read(shut(), "heat", "300", 5.0), "heat", "400", 5.0), "heat", "400")
    read(read(one, "heat", "20"), "heat", "400")
    assert "residual-fire" in one.session.state.passed


def test_a_value_that_the_pilot_calls_shows_it_as_well():
    one = shut().wait(70.0).say("five zero zero")

    assert opened_fire(one)
    assert "shut/heat" not in one.about("ticked")


def test_it_is_called_between_lists_and_after_the_others_too():
    one = read(shut().say("three zero zero", "ready"), "heat", "200", 60.0)
    read(read(one, "heat", "260", 60.0), "heat", "260")

    assert opened_fire(one)


def test_it_is_called_once_and_again_when_it_recurs():
    one = read(read(shut(), "heat", "300", 5.0), "heat", "380", 5.0)
    read(read(one, "heat", "390"), "heat", "370")
    assert 1 == len(facts(one, "residual fire"))
    read(read(one, "heat", "250", 30.0), "heat", "250")
    read(read(one, "heat", "320", 30.0), "heat", "320")

    assert 2 == len(facts(one, "residual fire"))
    assert 1 == one.about("list opened").count("burning"), "the procedure that runs goes on"


def test_a_fire_that_was_called_opens_its_list_no_second_time():
    one = read(read(read(shut(), "heat", "300", 5.0), "heat", "400", 5.0), "heat", "400")
    one.say("ready")
    read(one, "heat", "410")

    assert 1 == one.about("list opened").count("burning")


def test_an_abort_or_emergency_list_that_runs_is_not_broken_into():
    one = shut().say("burning")
    read(read(read(one, "heat", "300", 5.0), "heat", "400", 5.0), "heat", "400")

    assert 1 == len(facts(one, "residual fire"))
    assert "motor" in in_hand(one)
    assert 1 == one.about("list opened").count("burning")


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity"])
def test_no_number_shows_no_fire(value: str):
    one = read(read(shut(), "heat", "300", 5.0), "heat", value, 100.0)

    assert not opened_fire(one)


def test_it_is_watched_for_as_long_as_is_written():
    one = read(read(shut(), "heat", "300", 5.0), "heat", "200", 1700.0)
    read(read(one, "heat", "300", 200.0), "heat", "300")

    assert not opened_fire(one)


def test_before_fuel_off_nothing_is_watched():
    one = opened(cooling(None, run_down=DOWN, residual_fire=FIRE), "fly", "shut")
    read(read(read(one, "heat", "300"), "heat", "700", 100.0), "heat", "700")

    assert not opened_fire(one)


def test_a_fuel_off_that_was_passed_is_watched_all_the_same():
    one = opened(cooling(None, residual_fire=FIRE), "shut", "end")
    one.say("override", "already done", "confirm override")
    read(read(read(one, "heat", "300", 5.0), "heat", "400", 5.0), "heat", "400")

    assert opened_fire(one)


def test_a_new_start_ends_the_watch():
    one = opened(cooling(None, residual_fire=FIRE), "shut", "fly", "end").say("closed")
    one.say("three zero zero", "ready", "proceed")
    read(read(one, "heat", "600", 30.0), "heat", "600")

    assert not opened_fire(one)
