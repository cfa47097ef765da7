"""Two people at two microphones, each of which may hear both.

Rule of this file: events as two ears would send them; what is scored must be as if each
person had been heard once, at his own.
"""

import pytest
from practice_rig import HELPER, PILOT, drills
from test_drill_session import Driver

from callout.engine.events import Heard, Lost, Restored
from callout.running.live import Inbox
from callout.running.train_ears import Whose

BOTH = (PILOT, HELPER)


def said(driver, text, who, after=0.0):
    began = driver.now
    driver.wait(after)
    serial = driver.session.state.grammar.serial
    return driver.do(Heard(text, 1.0, serial, began, driver.now, f"built-in:{who}"))


def at_fire_guard():
    driver = Driver("start-with-ground-power", BOTH)
    driver.say_all(2)
    driver.wait(0.2)
    return driver


def outcome(driver):
    state = driver.session.state
    return [call.kind for call in state.false_calls], driver.mark("line-2").standing.value


@pytest.mark.parametrize("order", [("pilot", "helper"), ("helper", "pilot")])
def test_words_that_both_microphones_hear_are_their_owners_alone(order):
    driver = at_fire_guard()
    for who in order:
        said(driver, "fire guard", who)
    assert ([], "hit") == outcome(driver)


def test_words_at_the_other_microphone_alone_are_not_yours():
    driver = at_fire_guard()
    said(driver, "fire guard", "helper")
    assert (["not yours"], "open") == outcome(driver)


def test_the_same_words_much_later_are_a_call_of_their_own():
    driver = at_fire_guard()
    said(driver, "fire guard", "pilot")
    driver.wait(3.0)
    said(driver, "fire guard", "helper")
    assert (["not yours"], "hit") == outcome(driver)


def test_at_one_microphone_the_words_alone_tell_whose_they_are():
    driver = at_fire_guard()
    driver.hear("fire guard", "built-in")
    driver.hear("roger", "built-in")
    driver.hear("ready", "built-in")
    assert ["hit", "hit"] == [driver.mark(line).standing.value for line in ("line-2", "line-3")]
    assert [("wrong", "helper")] == [
        (call.kind, call.who) for call in driver.session.state.false_calls
    ]


def test_wrong_words_that_both_microphones_hear_cost_once_and_their_speaker():
    driver = at_fire_guard()
    said(driver, "fire guard", "pilot")
    said(driver, "roger", "helper")
    said(driver, "roger", "pilot")
    assert ["helper"] == [call.who for call in driver.session.state.false_calls]


def test_one_answer_that_both_microphones_hear_answers_one_question():
    name = "no-light-off"
    driver = Driver(name, BOTH)
    while driver.session.state.posed is None:
        driver.say_all()
        driver.wait(1.0)
    driver.say_all()
    right = driver.session.state.posed.right
    began = driver.now
    for who in ("pilot", "helper"):
        serial = driver.session.state.grammar.serial
        driver.now += 0.2
        driver.do(Heard(right, 1.0, serial, began, driver.now, f"built-in:{who}"))
    assert 1 == len(driver.session.state.replies)
    assert 1 < len(drills()[name].drill.questions)


def test_a_lost_microphone_is_told_with_whose_it_is():
    inbox = Inbox()
    Whose(inbox, HELPER).put(Lost("microphone", "unplugged"))
    assert Lost("microphone", "the helper's; unplugged") == inbox.get(timeout=1)


def test_the_drill_goes_on_when_both_microphones_are_back_and_not_sooner():
    driver = at_fire_guard()
    for event in (Lost("microphone", "a"), Lost("microphone", "b"), Restored("microphone")):
        driver.do(event)
    assert driver.session.next_deadline() is None
    driver.do(Restored("microphone"))
    assert driver.session.next_deadline() is not None


def test_a_microphone_that_is_lost_in_the_introduction_holds_the_drill_when_it_begins():
    driver = Driver("start-with-ground-power", BOTH)
    driver.do(Lost("microphone", "unplugged"))
    driver.say_all(1)
    assert driver.session.next_deadline() is None
    driver.do(Restored("microphone"))
    assert driver.session.next_deadline() is not None
