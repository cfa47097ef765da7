"""Disregard, correction and go back: each about the last utterance, none a way round."""

from __future__ import annotations

import pytest
from engine_aircraft import band
from engine_rig import ask, checklist, in_hand, item, mode, talk, ticked
from engine_talk import Talk

from callout.checklist.model import (
    Advise,
    Await,
    Condition,
    ListKind,
    ReadValue,
    ResumePolicy,
    Settings,
    Wait,
)
from callout.engine.rules import State

THREE = (ask("door"), ask("lamp"), ask("seat"))
VOLTS = item("volts", ReadValue("battery", band("24", "29")))


def three(settings: Settings | None = None) -> Talk:
    return talk(checklist("first", *THREE), settings=settings)


@pytest.mark.parametrize(
    "words", [("skip",), ("defer",), ("override", "not fitted", "confirm override")]
)
def test_disregard_takes_back_what_was_said_last_and_nothing_before_it(words: tuple[str, ...]):
    """ICAO: as not sent."""
    one = three().say("ready", *words, "disregard")

    assert "lamp" == in_hand(one)
    assert ["first/lamp"] == one.about("reopened")
    one.say("ready", "ready")
    assert ["first"] == one.about("list complete")


def test_correction_with_its_answer_replaces_a_skip():
    one = three().say("skip", "correction ready", "ready", "ready")

    assert ["first/door", "first/lamp", "first/seat"] == ticked(one)
    assert ["first"] == one.about("list complete")


@pytest.mark.parametrize("word", ["disregard", "correction"])
def test_advice_said_meanwhile_does_not_stand_between_an_answer_and_its_disregard(word: str):
    one = talk(checklist("first", ask("door"), item("wind", Advise()), ask("lamp"))).say("ready")
    one.hear_out()
    assert "lamp" == in_hand(one)
    one.say(word)

    assert "door" == in_hand(one)
    assert ["first/door"] == one.about("reopened")


def test_a_disregard_said_twice_takes_back_once():
    one = three().say("ready", "ready", "disregard", "disregard")

    assert "lamp" == in_hand(one)
    assert ["Nothing to disregard.", "Lamp?"] == one.said


@pytest.mark.parametrize("words", [("go back", "go back"), ("disregard", "go back")])
def test_an_item_that_was_reopened_cannot_be_corrected_from_elsewhere(words: tuple[str, ...]):
    one = three().say("ready", "ready", *words)
    assert "door" == in_hand(one)
    one.say("correction ready")

    assert "door" == in_hand(one)
    assert ["first/door", "first/lamp"] == ticked(one)


def test_a_restart_leaves_nothing_to_correct():
    one = three(Settings(resume=ResumePolicy.RESTART_LIST)).say("ready", "ready", "hold", "resume")
    one.say("correction ready")

    assert "door" == in_hand(one)


def timed(task: Await | Wait) -> Talk:
    stop = checklist("stop", ask("lever"), kind=ListKind.ABORT)
    return talk(checklist("first", VOLTS, item("turn", task), ask("seat")), stop)


def test_a_correction_buys_no_time_for_a_condition():
    """The starter turns on while the pilot corrects a value."""
    one = timed(Await(Condition("speed", band("20")), 15.0, "stop")).say("two five")
    began = one.now
    one.wait(8.0).say("correction two six")
    assert "turn" == in_hand(one)
    one.wait(began + 14.9 - one.now)
    assert [] == one.about("time missed")
    one.wait(0.2)
    assert ["first/turn"] == one.about("time missed")


def test_a_correction_that_is_refused_buys_no_time_either():
    one = timed(Await(Condition("speed", band("20")), 15.0, "stop")).say("two five")
    one.say("correction two three")
    assert "volts" == in_hand(one)
    one.wait(15.0).say("two five").wait(0.1)

    assert ["first/turn"] == one.about("time missed")


def test_a_wait_goes_on_through_a_correction():
    one = timed(Wait(60.0)).say("two five")
    one.wait(20.0).say("correction two six")
    assert "Three seven seconds remaining." == one.said[-1]
    assert ["first/turn"] == one.about("timer started")
    one.wait(37.0)
    assert "seat" == in_hand(one)


def test_a_wait_that_is_asked_again_after_going_back_starts_anew():
    one = timed(Wait(60.0)).say("two five")
    one.wait(20.0).say("disregard", "two five").wait(59.0)
    assert "turn" == in_hand(one)
    one.wait(1.1)
    assert "seat" == in_hand(one)


def test_a_reopened_list_is_under_way_again():
    one = talk(checklist("first", ask("door")), checklist("next", ask("lamp")))
    one.say("ready", "correction")

    assert "" == one.session.state.run.outcome
    assert () == one.session.state.closed
    assert ["first"] == one.about("list reopened")


def test_a_list_before_the_last_one_is_out_of_reach():
    lists = (checklist("first", ask("door")), checklist("next", ask("lamp")))
    one = talk(*lists).say("ready", "proceed", "disregard")

    assert "lamp" == in_hand(one)
    assert ["Nothing to disregard.", "Lamp?"] == one.said


def test_an_override_asked_for_at_a_lists_end_can_be_dropped_there():
    one = three().say("skip", "ready", "ready", "override")
    assert State.REASONING is mode(one)
    assert ["first/door"] == one.about("override asked")
    one.say("negative")

    assert State.REVIEWING is mode(one)
    assert "door" == in_hand(one.say("go back"))


def test_an_override_at_a_lists_end_is_of_the_item_it_names():
    one = three().say("ready", "skip", "ready", "override", "not fitted", "confirm override")

    assert ["first/lamp"] == one.about("overridden")
    assert ["first"] == one.about("list not complete")
