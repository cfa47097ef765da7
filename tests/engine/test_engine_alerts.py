"""A warning is said until it is answered, and nothing but an answer or its end stops it.

MIL-STD-411F 5.3.6/7: a voice warning starts at its beginning and repeats until
fixed, outranked or silenced. 14 CFR 25.1322: acknowledged apart from being mended,
two senses, again when it recurs, gone when its cause is. MIL-STD-1472E 5.3.6.2: it
resets so that it can sound again; 5.3.4.3.3: known in its first half second. All as
quoted in the project's reading of them.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from engine_aircraft import aircraft, band
from engine_rig import ask, checklist, in_hand, item, mode, talk, ticked
from engine_talk import Talk

from callout.checklist.model import Await, Condition, ListKind, ReadValue
from callout.engine.alerts import REPEAT_AFTER, stands
from callout.engine.effects import Priority, Say, StopSaying, Tone, ToneKind
from callout.engine.events import Clock, Heard, Lost, Reading, Restored, Resumed, SpeechEnded
from callout.engine.rules import State
from callout.engine.state import Alert

HOT = "Warning. Exhaust temperature seven three zero degrees, never above seven two zero."


def reads(one: Talk, value: str, gauge: str = "heat") -> Talk:
    one.handle(Reading(gauge, Decimal(value), one.now))
    return one


def hot() -> Talk:
    """A session in which the exhaust has just passed its limit."""
    one = talk(checklist("first", ask("door"), ask("oil"), engine_state="start"))
    one.hear_out()
    one.now += 3.0
    return reads(one, "730")


def says(one: Talk) -> list[Say]:
    return [e for e in one.effects if isinstance(e, Say)]


def warnings(one: Talk) -> list[str]:
    return [e.text for e in says(one) if e.priority is Priority.WARNING]


def alert(one: Talk) -> Alert:
    (found,) = one.session.state.alerts
    return found


def hear_warning(one: Talk, seconds: float = 3.0) -> Talk:
    """The warning is said to its end."""
    one.now += seconds
    number = alert(one).say
    assert number is not None
    one.handle(SpeechEnded(number))
    return one


def told(one: Talk, text: str, after: float) -> Talk:
    """Words that begin so many seconds from now."""
    began = one.now + after
    one.now = began + 0.4
    serial = one.session.state.grammar.serial
    one.handle(Heard(text, 1.0, serial, began, one.now, "test"))
    return one


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


def test_a_caution_is_said_once_and_is_not_dropped_by_the_next_answer():
    """What holds whatever is answered is not cut by an answer."""
    one = talk(checklist("first", ask("door"), ask("oil"), engine_state="start"))
    one.hear_out()
    reads(one, "660")
    (said,) = says(one)
    assert (Priority.CAUTION, ToneKind.CAUTION) == (said.priority, said.tone)
    one.say("ready")
    assert [StopSaying()] == [e for e in one.effects if isinstance(e, StopSaying)]
    hear_warning(one)
    assert alert(one).due is None


def test_a_caution_that_waits_is_dropped_when_it_holds_no_more():
    one = talk(checklist("first", ask("door"), engine_state="start"))
    reads(one, "660")
    reads(one, "600")

    assert [StopSaying("alert heat/CAUTION", waiting_only=True)] == [
        e for e in one.effects if isinstance(e, StopSaying)
    ]


def test_a_lost_part_is_a_caution_that_its_return_ends():
    one = talk(checklist("first", ask("door")))
    assert ["Microphone lost. Answer by the keys."] == one.handle_said(Lost("microphone", "gone"))
    assert stands(one.session.state, "lost/microphone")
    one.handle(Restored("microphone"))
    assert not stands(one.session.state, "lost/microphone")
    assert ["Microphone lost. Answer by the keys."] == one.handle_said(Lost("microphone", "gone"))


def missed(**fields: str) -> Talk:
    task = Await(Condition("speed", band("20")), within=15.0, **fields)
    stop = checklist("stop", ask("lever"), ask("lamp"), kind=ListKind.ABORT)
    one = talk(checklist("first", item("turn", task), ask("door")), stop)
    return one.wait(15.0)


def test_a_time_missed_is_said_until_roger_or_until_an_item_is_answered():
    assert ["Gas generator speed not reached in one five seconds."] == warnings(missed())
    one = told(hear_warning(missed()), "roger", 0.5)
    assert () == one.session.state.alerts
    one = hear_warning(missed(missed="stop")).say("ready")
    assert ["stop/lever"] == ticked(one)
    assert () == one.session.state.alerts
    assert ["test"] == [dict(f.data)["by"] for f in one.facts if f.fact == "warning answered"]


def test_a_time_missed_again_is_called_again():
    one = told(hear_warning(missed()), "roger", 0.5)
    one.say("skip", "go back")
    assert "turn" == in_hand(one)
    one.wait(15.0)
    assert 2 == len(one.about("time missed"))
    assert 1 == len(one.session.state.alerts)


def test_a_spoken_value_beyond_its_limit_is_warned_of_until_a_good_one_is_said():
    one = talk(checklist("first", item("volts", ReadValue("battery")), ask("oil")))
    one.say("three one")
    assert 1 == len(warnings(one))
    one.say("three one point five")
    assert 1 == len(warnings(one))
    one.say("two five")
    assert () == one.session.state.alerts
    assert StopSaying("alert battery/said") in one.effects


def test_abort_answers_the_warning_that_was_heard():
    one = hear_warning(hot())
    told(one, "abort", 0.5)
    assert alert(one).answered
    early = told(hot(), "abort", 0.2)
    assert not alert(early).answered


def test_after_a_kill_what_was_not_answered_is_said_again_at_once():
    one = hear_warning(hot())
    one.now += 50.0
    one.handle(Resumed(50.0))

    assert [HOT] == warnings(one)
    assert says(one)[0].priority is Priority.WARNING
    told(hear_warning(one), "roger", 0.5)
    assert alert(one).answered


def test_after_a_kill_an_answered_warning_whose_cause_is_still_there_is_called_anew():
    """Nobody looked meanwhile: that it was answered before says nothing about now."""
    one = told(hear_warning(hot()), "roger", 0.5)
    one.handle(Resumed(50.0))
    assert [] == warnings(one)
    reads(one, "730")
    assert [HOT] == warnings(one)


def test_a_replay_of_the_events_gives_the_same_warnings():
    one = told(hear_warning(hot()).wait(4.0), "roger", 0.2)
    again = hot()
    assert one.session.state.alerts != again.session.state.alerts
    again = told(hear_warning(again).wait(4.0), "roger", 0.2)
    assert one.session.state == again.session.state


def test_a_silent_pilot_is_asked_twice_then_the_list_is_parked_with_a_warning_standing():
    """Silence neither advances the list nor ends the warning."""
    one = hear_warning(hot())
    for _ in range(400):
        due = one.session.next_deadline()
        if due is None or due > 200.0:
            break
        one.now = max(one.now, due)
        one.handle(Clock())
        for say in says(one):
            one.now += 2.0
            one.handle(SpeechEnded(say.say))

    assert State.STANDING_BY is mode(one)
    assert 2 == len(one.about("no answer"))
    assert 1 == len(one.about("parked"))
    assert [] == ticked(one)
    assert not alert(one).answered
    assert 20 < len([f for f in one.facts if f.fact == "said again"])


def test_what_nobody_answered_is_written_down_at_the_end():
    one = hear_warning(hot()).say("ready", "ready")
    assert State.ENDED is mode(one)
    assert ["heat/NEVER"] == [
        dict(f.data)["keys"] for f in one.facts if f.fact == "warnings not answered"
    ]
    assert one.session.next_deadline() is None
