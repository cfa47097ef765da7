"""The watch over a start that the pilot tells aloud: what he calls, and what he may call when."""

from __future__ import annotations

import pytest
from engine_rig import in_hand
from engine_start import EXAMPLE, HEAT, SPEED, starting

WORD = 0.5  # s that a word of the rig's pilot takes


def test_without_a_feed_the_pilot_calls_what_he_sees_and_the_same_watch_runs_on_it():
    one = starting().say("engaged")
    one.tell("speed one two").say("one eight", "opened", "light off", "five one")
    one.say("released", "dark", "six four", "three point two", "six eight zero", "safe")

    assert [] == one.faults
    assert [p.id for p in EXAMPLE.start_watch.phases] == [
        d["phase"] for d in one.data("start phase")
    ]
    (whole,) = one.data("start watched")
    assert ("complete", "64") == (whole["outcome"], whole[f"highest {SPEED}"])
    assert "start/light-off" in one.about("ticked")


def test_light_off_may_be_called_while_something_else_is_asked():
    one = starting().say("engaged", "one eight")
    assert "fuel-opened" == in_hand(one)
    one.tell("light off")

    assert ["fuel-speed", "fuel", "light-off"] == [d["phase"] for d in one.data("start phase")]
    assert "fuel-opened" == in_hand(one)


@pytest.mark.parametrize("words", ["twenty percent", "speed two zero", "generator speed twenty"])
def test_a_number_without_a_name_is_the_speed_and_a_name_may_stand_before_it(words: str):
    one = starting().say("engaged", "one eight").tell(words)

    assert [{"gauge": SPEED, "value": "20"}] == one.data("start called")
    assert any("two zero percent" in text.lower() for text in one.said)


def test_a_number_that_could_be_two_is_asked_for_again_and_counts_for_nothing():
    one = starting().say("engaged", "one eight").tell("speed fifty")

    assert [] == one.data("start called")
    assert ["Say the digits."] == one.said


def test_a_named_value_answers_the_item_that_asks_for_it():
    one = starting().say("engaged").tell("generator speed one eight")

    assert "start/fuel-speed" in one.about("ticked")
    assert "fuel-opened" == in_hand(one)


def test_without_a_feed_the_time_alone_calls_that_nothing_lit():
    one = starting().say("engaged", "one eight", "opened")
    opened = one.now - WORD  # the lever was open before he said so
    one.wait(10.8 - WORD)
    assert [] == one.faults
    one.wait(0.2)

    # Ten seconds by the file, and a moment for "light off" that he may be saying then.
    assert ["no-light-off"] == one.faults
    fault = next(at for event, at in one.events if at > opened + 10.5)
    assert pytest.approx(opened + 10.9) == fault


def test_a_temperature_read_aloud_above_its_limit_is_a_hot_start():
    one = starting().say("engaged", "one eight", "opened", "light off").tell("temperature 820")

    assert ["hot-start"] == one.faults
    assert ["limit passed"] == [f.fact for f in one.facts if f.fact == "limit passed"]


def test_a_flame_before_the_speed_was_told_is_a_hot_start_all_the_same():
    """The speed is not shown and the pilot has not said it: the heat counts by itself."""
    by_feed, by_word = starting(), starting()
    for one in (by_feed, by_word):
        one.tell("engaged").wait(4.0)
    by_feed.read(HEAT, 250.0).wait(0.1)
    by_feed.read(HEAT, 801.0)
    by_word.tell("exhaust temperature eight zero five")

    assert ["hot-start"] == by_feed.faults == by_word.faults


def test_the_answer_that_the_starter_light_burns_is_the_fault_and_no_refusal():
    one = starting().say("engaged", "one eight", "opened", "light off", "five one", "released")
    assert "starter-light" == in_hand(one)
    one.say("burning")

    assert ["starter-stays-engaged"] == one.faults
    assert [] == one.data("wrong answer")


def test_words_about_the_start_are_heard_only_while_they_can_be_true():
    one = starting()
    before = {phrase.text for phrase in one.session.state.grammar.phrases}
    one.say("engaged", "one eight")
    during = {phrase.text for phrase in one.session.state.grammar.phrases}
    one.say("opened", "light off")
    after = {phrase.text for phrase in one.session.state.grammar.phrases}

    assert [False, True, False] == ["light off" in words for words in (before, during, after)]
    one.say("five one", "released")
    assert "start:burning" in {phrase.means for phrase in one.session.state.grammar.phrases}
