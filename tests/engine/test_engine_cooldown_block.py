"""What waits for the cool-down: fuel off, unless two utterances and a reason say otherwise."""

from __future__ import annotations

import pytest
from duties_rig import Noted, at_wait, cooling, facts, opened, read
from engine_rig import in_hand, mode

from callout.engine.effects import Tone
from callout.engine.rules import State


def shut_too_soon() -> Noted:
    """The shutdown list is open before the cool-down is done."""
    one = at_wait().wait(30.0)
    return one.say("skip", "five five zero", "proceed", "proceed")


def test_fuel_off_waits_for_it():
    one = shut_too_soon()
    left = one.session.state.duties.cooling.began + 120.0 - one.now
    assert any(text.startswith("Cool down: one minute") for _, text in one.spoken[-3:])
    assert left > 30.0
    one.say("closed")

    assert [] == [path for path in one.about("ticked") if path == "shut/lever"]
    assert "Not yet. Cool down:" in one.said[0]
    assert any(isinstance(effect, Tone) for effect in one.effects)
    assert ["shut/lever"] == one.about("blocked")
    assert State.ASKING is mode(one)


def test_when_it_is_done_the_item_is_asked_again_and_takes_its_answer():
    one = shut_too_soon()
    one.wait(120.0)
    assert 1 == len(one.times("Cool down complete."))
    one.say("closed")

    assert ["shut/lever"] == [path for path in one.about("ticked") if path == "shut/lever"]


def test_fuel_off_before_it_is_done_takes_two_utterances_and_a_reason():
    one = shut_too_soon()
    one.say("override")
    assert State.REASONING is mode(one)
    one.say("already done")
    assert State.CONFIRMING_OVERRIDE is mode(one)
    one.say("confirm override")

    assert ["shut/lever"] == one.about("overridden")
    assert "already done" == facts(one, "overridden")[0]["reason"]
    assert "heat" == in_hand(one)


def test_an_override_that_is_gone_back_on_lets_nothing_pass():
    one = shut_too_soon().say("override", "already done", "confirm override")
    one.say("go back").say("closed")

    assert "lever" == in_hand(one)
    assert "shut/lever" not in one.about("ticked")


@pytest.mark.parametrize("word", ["skip", "defer"])
def test_the_killer_rule_stays(word: str):
    """Invariant 2."""
    one = shut_too_soon().say(word)

    assert "lever" == in_hand(one)
    assert ["shut/lever"] == one.about("refused")


def test_where_it_never_began_that_is_said():
    one = opened(cooling(), "shut", "end").say("closed")

    assert "Not yet. Cool down has not begun." in one.said[0]
    assert [] == one.about("ticked")


def test_after_fuel_off_nothing_starts_it_again():
    one = at_wait().wait(120.0).say("five five zero", "proceed", "closed")
    read(one, "speed", "85")

    assert [] == facts(one, "power raised")


def test_a_fuel_off_that_was_not_leaves_it_as_it_stood():
    one = shut_too_soon().say("override", "already done", "confirm override", "disregard")
    assert "lever" == in_hand(one)
    one.say("closed")

    assert ["shut/lever"] == one.about("blocked")


def test_after_fuel_off_in_two_utterances_nothing_more_is_said_of_it():
    one = shut_too_soon().say("override", "already done", "confirm override").wait(200.0)

    assert [] == one.times("Cool down complete.")
    assert [] == one.about("blocked")


def test_an_override_that_is_gone_back_on_when_the_time_is_over_waits_for_nothing():
    one = shut_too_soon().say("override", "already done", "confirm override").wait(200.0)
    one.say("go back").wait(0.0)
    one.say("closed")

    assert [] == one.about("blocked")
    assert ["shut/lever"] == one.about("ticked")[-1:]
