"""A warning is said until it is answered, and nothing but an answer or its end stops it.

MIL-STD-411F 5.3.6/7: a voice warning starts at its beginning and repeats until
fixed, outranked or silenced. 14 CFR 25.1322: acknowledged apart from being mended,
two senses, again when it recurs, gone when its cause is. MIL-STD-1472E 5.3.6.2: it
resets so that it can sound again; 5.3.4.3.3: known in its first half second. All as
quoted in the project's reading of them.
"""

from __future__ import annotations

import pytest
from alert_talk import HOT, alert, hear_warning, hot, reads, says, told, warnings
from engine_aircraft import aircraft
from engine_rig import ask, checklist, item, mode, talk, ticked
from engine_talk import Talk

from callout.checklist.model import ReadValue
from callout.engine.alerts import REPEAT_AFTER, stands
from callout.engine.effects import Priority, StopSaying, Tone, ToneKind
from callout.engine.events import Clock, Heard, Resumed
from callout.engine.rules import State


def test_a_warning_is_said_again_after_a_pause_until_it_is_answered():
    one = hear_warning(hot())
    again = []
    for _ in range(3):
        assert one.now + REPEAT_AFTER == one.session.next_deadline()
        one.wait(REPEAT_AFTER)
        again += warnings(one)
        hear_warning(one)
    told(one, "roger", 1.0)
    assert [HOT] * 3 == again
    assert alert(one).answered
    one.wait(500.0)
    assert 3 == len([fact for fact in one.facts if fact.fact == "said again"])


def test_a_repeat_cuts_nothing_and_the_first_call_does():
    one = hot()
    assert [False] == [e.patient for e in says(one)]
    hear_warning(one).wait(REPEAT_AFTER)
    assert [True] == [e.patient for e in says(one)]


def test_a_warning_whose_end_is_never_reported_is_said_again_all_the_same():
    """A voice that hangs must not silence it."""
    one = hot()
    due = one.session.next_deadline()
    assert due is not None
    one.now = due
    one.handle(Clock())
    assert [HOT] == warnings(one)


def test_it_says_the_value_as_it_is_when_it_is_said_again():
    one = hear_warning(hot())
    reads(one, "790")
    assert [] == one.said
    one.wait(REPEAT_AFTER)
    assert [HOT.replace("three", "nine")] == warnings(one)


@pytest.mark.parametrize("word", ["roger", "silence"])
@pytest.mark.parametrize(
    "before",
    [(), ("stand by",), ("hold",), ("override",), ("override", "not fitted")],
    ids=["asking", "standing by", "holding", "reasoning", "confirming override"],
)
def test_it_can_be_answered_in_every_state_that_a_list_can_be_in(
    word: str, before: tuple[str, ...]
):
    one = hear_warning(hot()).say(*before)
    was = mode(one)
    told(one, word, 2.0)

    assert alert(one).answered
    assert was is mode(one)
    assert [] == ticked(one)
    assert ["heat/NEVER"] == [
        dict(f.data)["key"] for f in one.facts if f.fact == "warning answered"
    ]


def test_it_can_be_answered_between_lists_and_at_a_lists_end():
    ready = Talk(aircraft()).open("before-start", "start")
    ready.say("free", "secure", "in hand", "battery", "two five", "clear")
    review = talk(checklist("first", ask("door"), ask("oil"))).say("skip", "ready")
    for one, where in ((ready, State.READY), (review, State.REVIEWING)):
        assert where is mode(one)
        one.now += 1.0
        reads(one, "31", "battery")
        told(hear_warning(one), "roger", 0.5)
        assert alert(one).answered
        assert where is mode(one)


def test_an_answered_warning_falls_silent_at_once_and_the_tone_says_so():
    one = told(hot(), "roger", 1.2)

    assert StopSaying("alert heat/NEVER") in one.effects
    assert [ToneKind.HEARD] == [e.kind for e in one.effects if isinstance(e, Tone)]
    assert alert(one).answered


def test_a_word_that_began_before_the_warning_could_be_known_does_not_answer_it():
    one = told(hot(), "roger", 0.6)

    assert not alert(one).answered
    assert ["roger too soon"] == [f.fact for f in one.facts if "roger" in f.fact]
    assert [ToneKind.NOT_UNDERSTOOD] == [e.kind for e in one.effects if isinstance(e, Tone)]


def test_of_two_warnings_the_one_that_waits_is_not_answered_with_the_one_that_is_said():
    one = hot()
    reads(one, "31", "battery")
    told(one, "roger", 1.5)
    first, second = one.session.state.alerts

    assert (True, False) == (first.answered, second.answered)
    told(one, "roger", 0.2)
    assert not one.session.state.alerts[1].answered
    told(one, "roger", 1.5)
    assert one.session.state.alerts[1].answered


def test_a_repeat_of_a_warning_that_was_heard_is_answered_at_any_moment():
    one = told(hear_warning(hot()), "roger", 0.1)

    assert alert(one).answered


def test_roger_is_refused_as_an_answer_to_an_item_when_no_warning_stands():
    one = talk(checklist("first", item("volts", ReadValue("battery")), ask("oil"))).say("roger")
    assert ["first/volts"] == one.about("wrong answer")
    reads(one, "31", "battery")
    hear_warning(one)
    told(one, "roger", 1.0)
    assert ["first/volts"] == one.about("wrong answer")
    assert alert(one).answered
    told(one, "roger", 1.0)
    assert ["first/volts"] * 2 == one.about("wrong answer")


def test_a_warning_less_sure_than_a_killers_answer_is_not_answered():
    one = hear_warning(hot())
    one.now += 1.0
    serial = one.session.state.grammar.serial
    one.handle(Heard("roger", 0.65, serial, one.now - 0.4, one.now, "test"))

    assert not alert(one).answered


def test_an_answer_to_the_item_is_no_answer_to_a_limit_and_ticks_all_the_same():
    one = hear_warning(hot()).say("ready")

    assert ["first/door"] == ticked(one)
    assert not alert(one).answered
    assert one.session.next_deadline() is not None


def test_when_the_cause_ends_after_it_was_said_it_is_silent():
    one = reads(hear_warning(hot()), "700")
    assert Priority.WARNING not in [e.priority for e in says(one)]
    one.wait(8.0)
    assert [] == [f for f in one.facts if f.fact == "said again"]
    assert not stands(one.session.state, "heat/NEVER")


def test_when_the_cause_ends_before_it_was_said_it_is_said_to_its_end_once():
    """A peak of one sample is not lost because another warning was being said."""
    one = reads(hot(), "600")

    assert [] == [e for e in one.effects if isinstance(e, StopSaying)]
    assert not stands(one.session.state, "heat/NEVER")
    assert alert(one).ended
    hear_warning(one)
    assert () == one.session.state.alerts


def test_one_that_ended_unsaid_is_said_again_after_a_kill():
    one = reads(hot(), "600")
    one.now += 5.0
    one.handle(Resumed(5.0))

    assert [HOT] == warnings(one)
    hear_warning(one)
    assert () == one.session.state.alerts


@pytest.mark.parametrize("answered", [True, False])
def test_it_is_called_again_at_once_when_the_cause_recurs(answered: bool):
    one = hear_warning(hot())
    if answered:
        told(one, "roger", 1.0)
    reads(one, "600")
    reads(one, "730")

    assert [HOT] == warnings(one)
    assert 2 == len([f for f in one.facts if f.fact == "limit passed"])
    assert not alert(one).answered
