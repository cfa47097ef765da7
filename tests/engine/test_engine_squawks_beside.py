"""A squawk beside everything else: what must not wait is done while one is recorded.

The universal words: design's invariant 8.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from engine_aircraft import HEAT, VOLTS, band
from engine_rig import ask, checklist, in_hand, item, mode, talk, ticked
from engine_talk import Talk
from squawk_talk import LISTS, STOP, keeps, squawking, talks

from callout.checklist.model import Advise, Await, Condition, Wait
from callout.engine.effects import Keep, Priority, Record, Say
from callout.engine.events import (
    FeedFault,
    Heard,
    Key,
    KeyMeaning,
    Reading,
    Resumed,
    Stopped,
)
from callout.engine.rules import State
from callout.engine.squawk_state import SILENCE
from callout.words.universal import ALWAYS_HEARD, Word, forms


@pytest.mark.parametrize("word", ALWAYS_HEARD)
def test_the_words_that_are_always_heard_are_heard_in_it(word: Word):
    one = squawking()
    texts = {p.text for p in one.session.state.grammar.phrases}

    assert set(forms(word)) <= texts


def test_abort_in_a_squawk_is_abort_in_that_step_and_the_squawk_is_kept():
    """The same effects, but for the squawk's own, as without it."""
    plain = talk(*LISTS)
    plain.say("abort")
    one = squawking()
    talks(one)
    one.say("abort")

    def heard(talk_: Talk) -> list[tuple[str, Priority]]:
        return [(e.text, e.priority) for e in talk_.effects if isinstance(e, Say)]

    assert heard(plain) == heard(one)
    assert "stop" == one.session.state.run.list_id
    assert ["abort"] == [dict(f.data)["how"] for f in one.facts if f.fact == "squawk kept"]
    first_keep = next(i for i, e in enumerate(one.effects) if isinstance(e, Keep))
    assert all(not isinstance(e, Record) for e in one.effects[first_keep:])


def test_stand_by_ends_it_and_stands_by_at_the_item():
    one = squawking().say("stand by")

    assert State.STANDING_BY is mode(one)
    assert State.ASKING is one.session.state.back_to
    assert 1 == len(one.session.state.squawks.open)
    one.say("ready")
    assert ["walk/cap"] == ticked(one)


@pytest.mark.parametrize(("word", "says"), [("say again", "Go ahead."), ("help", "You can say")])
def test_say_again_and_help_are_answered_and_the_recording_goes_on(word, says):
    one = squawking().say(word)

    assert State.SQUAWKING is mode(one)
    assert says in one.said[0]
    assert [] == keeps(one)


def test_a_limit_passed_in_a_squawk_is_announced_at_once_and_the_recording_goes_on():
    one = squawking()
    one.handle(Reading(VOLTS.id, Decimal(31), one.now))

    assert [Priority.WARNING] == [e.priority for e in one.effects if isinstance(e, Say)]
    assert State.SQUAWKING is mode(one)
    one.now += 3.0
    one.say("roger")
    assert "warning answered" in [f.fact for f in one.facts]
    assert State.SQUAWKING is mode(one)


def test_a_condition_that_is_not_met_in_time_ends_it_and_opens_its_list():
    await_ = item("heat", Await(Condition("heat", band("200")), within=8.0, missed="stop"))
    one = talk(checklist("first", await_), STOP).say("squawk")
    one.wait(9.0)

    assert "stop" == one.session.state.run.list_id
    assert 1 == len(one.session.state.squawks.open)


def test_a_wait_runs_out_in_a_squawk_and_is_ticked_only_after_it():
    one = talk(checklist("first", item("warm", Wait(20.0)), ask("lamp"))).say("squawk")
    for _ in range(5):
        one.wait(4.0)
        talks(one, 0.0)
    assert [] == ticked(one)
    one.say("end squawk").wait(0.1)

    assert ["first/warm"] == ticked(one)
    assert "lamp" == in_hand(one)


def test_a_kill_in_it_keeps_what_was_recorded_or_says_that_it_was_lost():
    for recorded, said in ((12.3, "one two seconds kept"), (0.0, "its recording was lost")):
        one = squawking()
        one.now += 60.0
        one.handle(Resumed(30.0, recorded))

        assert State.HOLDING is mode(one)
        assert said in one.said[0]
        (known,) = one.session.state.squawks.open
        assert (recorded > 0) is known.sound


def test_stopping_the_program_in_it_keeps_it():
    one = squawking()
    one.handle(Stopped("test"))

    assert State.ENDED is mode(one)
    assert 1 == len([f for f in one.facts if f.fact == "squawk kept"])


def test_a_sensor_that_fails_in_a_squawk_is_said_and_the_recording_goes_on():
    one = squawking()
    one.handle(FeedFault(HEAT.id, "silent", "no value for 3 s"))

    assert one.said
    assert State.SQUAWKING is mode(one)


def test_a_key_that_holds_ends_a_squawk_and_no_advice_is_ticked_as_said():
    """A phone out of reach presses it: what is said after that is said to nobody."""
    one = talk(checklist("walk", item("mind", Advise()), ask("oil")))
    one.now += 1.0
    serial = one.session.state.grammar.serial
    one.handle(Heard("squawk", 1.0, serial, one.now - 0.4, one.now, "test"))
    one.now += 2.0
    one.handle(Key(KeyMeaning.HOLD, one.now, "phone lost"))

    assert State.HOLDING is mode(one)
    assert [Keep("1", 1.0, 3.0)] == keeps(one)
    assert ["walk/mind"] == one.about("squawk kept")
    one.wait(SILENCE + 1.0)
    one.hear_out()
    assert [] == ticked(one)


def test_a_key_that_holds_changes_nothing_in_a_squawk_where_no_list_runs():
    one = talk(STOP)
    one.now = 2.0
    one.handle(Heard("squawk", 1.0, one.session.state.grammar.serial, 1.0, 1.5, "test"))
    before = one.session.state.squawks
    one.handle(Key(KeyMeaning.HOLD, one.now, "f1"))

    assert State.SQUAWKING is mode(one)
    assert before == one.session.state.squawks
