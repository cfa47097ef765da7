"""What is warned of and what is a caution: when its cause ends, through a kill, in silence."""

from __future__ import annotations

from alert_talk import HOT, alert, hear_warning, hot, reads, says, told, warnings
from engine_aircraft import band
from engine_rig import ask, checklist, in_hand, item, mode, talk, ticked
from engine_talk import Talk

from callout.checklist.model import Await, Condition, ListKind, ReadValue
from callout.engine.alerts import stands
from callout.engine.effects import Priority, StopSaying, ToneKind
from callout.engine.events import Clock, Lost, Restored, Resumed, SpeechEnded
from callout.engine.rules import State


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
