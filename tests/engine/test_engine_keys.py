"""What a key may do: affirm an ordinary item, resume, say again, hold, answer a warning.

TM 1-1500 and MIL-STD-1472 (from memory): every spoken prompt has a silent way when
noise prevents voice. A key carries no words, so it may do less than they: that a
killer item and a value are answered by voice alone is our own rule.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from engine_aircraft import aircraft
from engine_rig import ask, checklist, choice, in_hand, item, mode, talk, ticked
from engine_talk import Talk

from callout.checklist.model import Advise, ReadValue, Settings, Wait
from callout.engine.effects import Say, StopSaying, Tone, ToneKind
from callout.engine.events import Key, KeyMeaning, Reading, SpeechEnded
from callout.engine.rules import State
from callout.logbook.codec import event_from, to_text

AFFIRM, SAY_AGAIN, HOLD, ROGER = KeyMeaning


def press(one: Talk, means: KeyMeaning = AFFIRM, after: float = 2.0) -> Talk:
    """So many seconds after the prompt was said to its end."""
    one.hear_out()
    one.now += after
    one.handle(Key(means, one.now, "f1"))
    return one


def tones(one: Talk) -> list[ToneKind]:
    return [e.kind for e in one.effects if isinstance(e, Tone)]


def test_affirm_gives_the_right_answer_of_an_ordinary_item_and_is_logged_as_by_key():
    one = press(talk(checklist("first", ask("door"), ask("oil"))))

    assert ["first/door"] == ticked(one)
    assert "oil" == in_hand(one)
    assert [ToneKind.HEARD] == tones(one)
    (fact,) = [dict(fact.data) for fact in one.facts if fact.fact == "ticked"]
    assert ("key", "f1", "ready", "2.00") == tuple(
        fact[k] for k in ("by", "key", "answer", "latency")
    )


@pytest.mark.parametrize(
    ("task", "sentence"),
    [
        (ask("door", killer=True), "A key cannot answer a killer item. Say the answer."),
        (item("door", ReadValue("battery")), "A key cannot give a value. Say the value."),
        (choice("door"), "A key cannot choose. Say which."),
    ],
)
def test_affirm_is_refused_with_a_sentence_for_a_killer_a_value_and_a_choice(task, sentence: str):
    one = press(talk(checklist("first", task, ask("oil"))))

    assert [] == ticked(one)
    assert [sentence] == one.said
    assert "door" == in_hand(one)
    assert [ToneKind.NOT_UNDERSTOOD] == tones(one)
    press(one)
    assert [] == ticked(one)


def test_affirm_is_refused_for_a_value_that_could_be_two():
    """The second number is no answer a key could know."""
    speed = item("speed", ReadValue("speed"))
    one = talk(checklist("first", speed, ask("oil"))).say("fifteen")
    assert State.CONFIRMING is mode(one)
    press(one)
    assert State.CONFIRMING is mode(one)
    assert [] == ticked(one)
    assert ["A key does not count here. Say it."] == one.said


@pytest.mark.parametrize("words", [("override",), ("override", "not fitted")])
def test_no_override_is_made_with_a_key(words: tuple[str, ...]):
    one = talk(checklist("first", ask("door"))).say(*words)
    was = mode(one)
    press(one)
    assert was is mode(one)
    assert [] == one.about("overridden")


def test_a_key_pressed_before_the_call_is_over_counts_for_nothing():
    """A word tells what it answers, a key does not: and a pedal pressed twice ticks one item."""
    one = talk(checklist("first", ask("door"), ask("oil")))
    one.now = 0.8
    one.handle(Key(AFFIRM, 0.8, "f1"))
    assert [] == ticked(one)
    assert ["first/door"] == one.about("key too soon")
    press(one)
    one.now += 0.2
    one.handle(Key(AFFIRM, one.now, "f1"))
    assert ["first/door"] == ticked(one)
    assert [] == [e for e in one.effects if isinstance(e, Say | StopSaying)]


def test_a_key_pressed_before_the_call_was_over_and_handled_after_it_counts_for_nothing():
    one = talk(checklist("first", ask("door"), ask("oil")))
    one.hear_out()
    one.handle(Key(AFFIRM, one.now - 0.1, "f1"))
    assert [] == ticked(one)


def test_a_key_sooner_than_a_look_is_queried_as_a_word_would_be():
    """Delta 1141 (NTSB/AAR-89/04, as quoted): under a second, the right words, the wrong flaps."""
    one = talk(checklist("first", ask("door"), ask("oil")), settings=Settings(look_time=1.0))
    press(one, after=0.4)
    assert [] == ticked(one)
    assert ["That was quick. Door?"] == one.said
    press(one, after=1.2)
    assert ["first/door"] == ticked(one)


def test_disregard_takes_a_key_back():
    one = press(talk(checklist("first", ask("door"), ask("oil"))))
    one.say("disregard")
    assert "door" == in_hand(one)


def test_say_again_and_hold_by_key_are_the_words():
    one = press(talk(checklist("first", ask("door"), ask("oil"))), SAY_AGAIN)
    assert ["Door?"] == one.said
    press(one, HOLD)
    assert State.HOLDING is mode(one)
    assert ["Holding at Door."] == one.said


@pytest.mark.parametrize("word", ["hold", "stand by"])
def test_affirm_resumes_a_list_that_stands_still_and_ticks_nothing(word: str):
    one = press(talk(checklist("first", ask("door"), ask("oil"))).say(word))

    assert State.ASKING is mode(one)
    assert "Door?" in one.said
    assert [] == ticked(one)


def test_affirm_between_lists_opens_the_next_one_when_it_was_offered_to_the_end():
    one = Talk(aircraft()).open("before-start", "start")
    one.say("free", "secure", "in hand", "battery", "two five", "clear")
    assert State.READY is mode(one)
    one.handle(Key(AFFIRM, one.now, "f1"))
    assert State.READY is mode(one)
    press(one)
    assert ["before-start", "start"] == one.about("list opened")


def test_affirm_at_a_lists_end_leaves_nothing_open():
    one = press(talk(checklist("first", ask("door"), ask("oil"))).say("skip", "ready"))
    assert State.REVIEWING is mode(one)
    assert [] == one.about("list not complete")


def test_where_nothing_is_asked_a_key_says_so():
    one = talk(checklist("first", item("warm", Wait(60.0)), ask("oil")))
    press(one)
    assert State.TIMING is mode(one)
    assert ["Nothing to answer."] == one.said
    advice = talk(checklist("first", item("wind", Advise()), ask("oil")))
    advice.handle(Key(AFFIRM, 0.5, "f1"))
    assert State.ADVISING is mode(advice)


def warned() -> Talk:
    one = talk(checklist("first", ask("door"), ask("oil"), engine_state="start"))
    one.hear_out()
    one.now += 1.0
    one.handle(Reading("heat", Decimal(730), one.now))
    return one


@pytest.mark.parametrize("means", [AFFIRM, ROGER])
def test_a_key_answers_the_warning_before_the_item(means: KeyMeaning):
    one = warned()
    number = one.session.state.alerts[0].say
    assert number is not None
    one.now += 3.0
    one.handle(SpeechEnded(number))
    press(one, means)
    assert one.session.state.alerts[0].answered
    assert [] == ticked(one)
    press(one, means)
    assert (["first/door"] if means is AFFIRM else []) == ticked(one)


def test_a_key_that_meant_the_item_does_not_answer_a_warning_nobody_can_know_yet():
    one = warned()
    one.now += 0.3
    one.handle(Key(AFFIRM, one.now, "f1"))
    assert not one.session.state.alerts[0].answered
    assert [] == ticked(one)
    assert [ToneKind.NOT_UNDERSTOOD] == tones(one)


def test_roger_by_key_never_answers_an_item():
    one = press(talk(checklist("first", ask("door"))), ROGER)
    assert [] == ticked(one)
    assert [ToneKind.NOT_UNDERSTOOD] == tones(one)


def test_a_key_that_has_no_rule_is_told_by_a_tone():
    one = press(talk(checklist("first", ask("door"))).say("hold"), HOLD)
    assert State.HOLDING is mode(one)
    assert [ToneKind.NOT_UNDERSTOOD] == tones(one)


def test_a_key_is_written_into_the_log_and_read_back():
    key = Key(KeyMeaning.SAY_AGAIN, 12.25, "pagedown of a pedal")
    assert key == event_from("Key", to_text(key))
