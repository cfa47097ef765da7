"""Doubts, refusals, questions and talk beside the list: none of them ticks by a side door."""

from __future__ import annotations

import math

import pytest
from engine_aircraft import band
from engine_rig import ask, checklist, in_hand, item, mode, talk, ticked
from engine_talk import Talk

from callout.checklist.model import Advise, ReadValue, Settings, Wait
from callout.engine.effects import Tone, ToneKind
from callout.engine.events import Heard, NotUnderstood, SpeechEnded
from callout.engine.rules import State
from callout.words.understand import understand

SPEED = item("speed", ReadValue("speed", band("10", "60")))
QUICK = Settings(look_time=1.0)


def doubtful(killer: bool = False, settings: Settings | None = None) -> Talk:
    """Fifty was heard, which may have been fifteen."""
    speed = item("speed", SPEED.task, killer=killer)
    return talk(checklist("first", speed, ask("door")), settings=settings).say("fifty")


def heard(one: Talk, text: str, certainty: float = 1.0) -> Talk:
    """Said at once, whatever callout is saying."""
    serial = one.session.state.grammar.serial
    one.now += 0.3
    one.handle(Heard(text, certainty, serial, one.now - 0.2, one.now, "test"))
    return one


@pytest.mark.parametrize("word", ["checked", "roger", "four thousand"])
def test_a_value_in_doubt_is_dropped_when_something_else_was_refused(word: str):
    """The prompt is another one then: an affirm to it must not tick the old value."""
    one = doubtful().say(word)
    assert State.ASKING is mode(one)
    one.say("affirm")

    assert [] == ticked(one)
    assert one.session.state.doubt is None


def test_a_value_in_doubt_is_dropped_when_another_came_too_quickly():
    one = heard(doubtful(settings=QUICK), "five five")
    assert ["first/speed"] == one.about("quick answer")
    one.say("affirm")

    assert [] == ticked(one)


def test_negative_ticks_none_of_the_values_even_if_one_is_left():
    one = doubtful().say("negative")

    assert State.ASKING is mode(one)
    assert [] == ticked(one)
    assert ["Say the digits. Speed?"] == one.said
    assert "50" == dict(one.say("five zero").facts[-2].data)["answer"]


def test_an_affirm_that_ticks_a_killer_item_asks_for_the_killers_certainty():
    """Invariant 3: above the confidence threshold of that item."""
    one = doubtful(killer=True)
    assert [] == ticked(heard(one, "affirm", 0.6))
    assert ["first/speed"] == ticked(heard(one, "affirm", 0.7))
    assert 0.5 == understand(doubtful().session.state.grammar, "affirm").certainty


def test_a_certainty_that_is_no_number_is_not_enough():
    one = heard(talk(checklist("first", ask("door"))), "ready", math.nan)

    assert [] == ticked(one)
    assert ["first/door"] == one.about("not understood")


def test_words_not_sure_enough_are_in_the_log_as_they_were_heard():
    one = heard(talk(checklist("first", ask("door"))), "ready", 0.3)

    data = dict(one.facts[-1].data)
    assert {"why": "not sure enough", "guess": "ready"} == data


def test_a_prompt_cut_by_a_question_does_not_make_the_answer_a_quick_one():
    """Row 11 queries an answer without a look, not one after a question."""
    one = heard(talk(checklist("first", ask("door"), ask("lamp")), settings=QUICK), "why")
    one.now += 4.0

    assert ["first/door"] == ticked(heard(one, "ready"))
    assert [] == one.about("quick answer")


ADVICE = checklist("first", ask("door"), item("wind", Advise()), ask("lamp"))


def advised() -> Talk:
    return talk(ADVICE).say("ready")


def said_out(one: Talk) -> Talk:
    """The sentence that an answer is due to is said to its end."""
    one.now += 3.0
    number = one.session.state.prompt_say
    assert number is not None
    one.handle(SpeechEnded(number))
    return one


@pytest.mark.parametrize("word", ["why", "help", "where am i", "what is open", "who is next"])
def test_advice_cut_by_a_question_is_said_again_and_then_done(word: str):
    one = heard(advised(), word)
    assert "Wind." == one.said[-1]
    assert "wind" == in_hand(one)
    assert "lamp" == in_hand(said_out(one))


@pytest.mark.parametrize("word", ["negative", "unable"])
def test_advice_that_was_denied_is_not_done_by_saying_so(word: str):
    one = heard(advised(), word)
    assert ["Stays open. Wind. Say resume, defer, skip, hold, or abort."] == one.said
    said_out(one).wait(60.0)
    assert "wind" == in_hand(one)
    assert State.STANDING_BY is mode(one)
    assert "lamp" == in_hand(said_out(heard(one, "resume")))


def test_a_wait_that_was_denied_is_not_done_by_time_alone():
    warm = item("warm", Wait(30.0))
    one = talk(checklist("first", ask("door"), warm, ask("lamp"))).say("ready")
    heard(one, "negative").wait(60.0)
    assert "warm" == in_hand(one)
    assert ["first/warm"] == one.about("time over")
    assert "lamp" == in_hand(one.say("resume"))


def test_advice_refused_to_be_deferred_twice_is_said_and_not_done_by_the_refusal():
    one = talk(ADVICE).say("ready")
    heard(one, "defer")
    one.say("ready")
    assert "wind" == in_hand(one)
    heard(one, "defer")
    assert ["Deferred once already. Say the answer, skip, or override.", "Wind."] == one.said
    assert "wind" == in_hand(one)


def test_going_back_passes_over_advice():
    one = said_out(advised()).say("go back")

    assert "door" == in_hand(one)


def test_questions_while_standing_by_do_not_end_the_silence():
    one = talk(ADVICE).say("stand by", "why", "who is next")
    assert State.STANDING_BY is mode(one)
    one.wait(300.0)
    assert [] == one.about("no answer")
    assert "wind" == in_hand(one.say("ready"))


def beside(one: Talk, times: int, every: float = 4.0) -> Talk:
    """Talk beside the list."""
    for _ in range(times):
        one.wait(every)
        serial = one.session.state.grammar.serial
        event = NotUnderstood(
            "not in the grammar", "lunch", 0.9, serial, one.now - 1.0, one.now, "test"
        )
        one.handle(event)
    return one


def test_not_understood_is_said_three_times_and_then_only_sounded():
    one = talk(checklist("first", ask("door")))
    one.hear_out()
    spoken = []
    for _ in range(5):
        beside(one, 1, every=1.0)
        spoken.append(one.said)
        tones = [e.kind for e in one.effects if isinstance(e, Tone)]
        assert [ToneKind.NOT_UNDERSTOOD] == tones

    assert [["Not understood."]] * 3 + [[]] * 2 == spoken


def test_talk_beside_the_list_does_not_keep_it_from_being_parked():
    """Row 23: babble has an end, as silence has, and advances nothing."""
    one = talk(checklist("first", ask("door")))
    one.hear_out()
    beside(one, 60)

    assert State.STANDING_BY is mode(one)
    assert "door" == in_hand(one)
    assert ["first/door"] == ticked(one.say("ready"))


def test_a_new_prompt_says_not_understood_again():
    one = talk(checklist("first", ask("door"), ask("lamp")))
    beside(one, 5, every=0.5).say("ready")

    one.hear_out()
    assert ["Not understood."] == beside(one, 1, every=0.5).said
