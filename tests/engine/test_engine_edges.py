"""More edges of single rules: what is forgotten, what is repeated, what is said once."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from engine_aircraft import band
from engine_rig import ask, checklist, go_to, in_hand, item, talk, ticked
from engine_talk import Talk

from callout.checklist.model import (
    Await,
    Condition,
    Item,
    ListKind,
    ReadValue,
    ResumePolicy,
    Section,
    Settings,
    Wait,
)
from callout.engine.effects import Say, Tone, ToneKind
from callout.engine.events import Clock, Heard, Reading

STOP = checklist("stop", ask("lever"), kind=ListKind.ABORT)
NEXT = checklist("next", ask("lamp"))


def sections(*groups: tuple[Item, ...], policy: ResumePolicy) -> Talk:
    parts = tuple(Section(f"part {n}", group) for n, group in enumerate(groups))
    first = replace(checklist("first", ask("door")), sections=parts)
    return talk(first, settings=Settings(resume=policy))


def test_each_item_has_its_own_query_of_a_quick_answer():
    one = talk(
        checklist("first", ask("door"), ask("lamp"), ask("seat")), settings=Settings(look_time=1.0)
    )
    for _ in range(4):
        one.now += 0.5
        serial = one.session.state.grammar.serial
        one.handle(Heard("ready", 1.0, serial, one.now - 0.2, one.now, "test"))

    assert ["first/door", "first/lamp"] == one.about("quick answer")
    assert ["first/door", "first/lamp"] == ticked(one)


@pytest.mark.parametrize("words", [("override",), ("override", "not fitted"), ("fifty",)])
def test_disregard_in_a_dialogue_drops_the_dialogue_and_undoes_no_tick(words: tuple[str, ...]):
    speed = item("speed", ReadValue("speed"))
    one = talk(checklist("first", ask("door"), speed)).say("ready", *words, "disregard")

    assert "speed" == in_hand(one)
    assert [] == one.about("reopened")
    assert ["Speed?"] == one.said
    assert one.session.state.doubt is None
    assert one.session.state.overriding is None


def test_an_abort_sounds_the_warning_tone():
    one = talk(checklist("first", ask("door"), abort="stop"), STOP).say("abort")

    assert [ToneKind.WARNING] == [e.kind for e in one.effects if isinstance(e, Tone)]


def test_resume_repeats_the_latest_item_and_not_the_first():
    one = talk(checklist("first", ask("door"), ask("lamp"), ask("seat")))
    one.say("ready", "ready", "hold", "resume")

    assert "Last item: Lamp, ready." == one.said[0]


def test_a_section_is_restarted_from_its_own_beginning():
    groups = ((ask("door"),), (ask("lamp"), ask("seat")))
    one = sections(*groups, policy=ResumePolicy.RESTART_SECTION).say("ready", "ready")
    one.say("hold", "resume")

    assert "lamp" == in_hand(one)
    assert ["first/lamp"] == one.about("reopened")


def test_a_restarted_section_asks_first_what_went_out_of_date_before_it():
    groups = ((ask("door", stale_after=60.0),), (ask("lamp"), ask("seat")))
    one = sections(*groups, policy=ResumePolicy.RESTART_SECTION).say("ready", "ready", "hold")
    one.wait(90.0).say("resume")

    assert "door" == in_hand(one)


def test_no_list_goes_over_into_another_with_a_tick_out_of_date():
    one = talk(checklist("first", ask("door", stale_after=60.0), ask("seat"), go_to("next")), NEXT)
    one.say("ready", "stand by").wait(90.0).say("ready")

    assert "door" == in_hand(one)
    assert ["first"] == one.about("list opened")


def test_the_end_of_a_wait_is_said_once():
    one = talk(checklist("first", item("warm", Wait(30.0)), ask("seat"))).say("hold")
    said = []
    one.now = one.session.next_deadline() or 0.0
    said += one.handle_said(Clock())
    said += one.say("resume").said

    assert 1 == said.count("Warm, time complete.")


def test_the_reason_of_an_override_is_in_the_log():
    one = talk(checklist("first", ask("door"))).say("override", "not working", "confirm override")

    fact = next(fact for fact in one.facts if fact.fact == "overridden")
    assert {"reason": "not working"} == dict(fact.data)
    assert "Door overridden, not working." == one.said[0]


def test_no_list_follows_a_missed_limit_by_itself():
    speed = item("speed", Await(Condition("speed", band("20")), 15.0, "stop"))
    one = talk(checklist("first", speed), NEXT, STOP).wait(16.0)

    assert "lever" == in_hand(one)
    assert () == one.session.state.plan


@pytest.mark.parametrize(("late", "said"), [(1.0, 1), (1.1, 0)])
def test_a_mark_that_comes_too_late_is_not_said(late: float, said: int):
    """A time remaining that is no longer true would be worse than none."""
    one = talk(checklist("first", item("warm", Wait(30.0, (10.0,))), ask("seat")))
    one.now = 20.0 + late
    one.handle(Clock())
    assert said == one.said.count("One zero seconds remaining.")
    one.handle(Clock())
    assert [] == one.said


def test_the_time_to_answer_counts_from_the_end_of_the_call():
    one = talk(checklist("first", ask("door")), settings=Settings(answer_time=12.0))
    one.hear_out()
    one.wait(11.9)
    assert [] == one.about("no answer")
    one.wait(0.1)
    assert ["first/door"] == one.about("no answer")


def test_talk_during_a_wait_is_written_down_and_not_answered():
    one = talk(checklist("first", item("warm", Wait(30.0)), ask("seat"))).say("banana")

    assert ["first/warm"] == one.about("not understood")
    assert [] == [e for e in one.effects if isinstance(e, Say | Tone)]


def test_what_a_gauge_answered_is_not_taken_back_by_a_word():
    speed = item("speed", Await(Condition("speed", band("20"))))
    one = talk(checklist("first", ask("door"), speed, ask("seat"))).say("ready")
    one.handle(Reading("speed", Decimal(25), one.now))
    one.say("disregard")

    assert "seat" == in_hand(one)
    assert ["Nothing to disregard.", "Seat?"] == one.said


def test_a_wait_that_is_over_is_not_taken_back_by_a_word():
    one = talk(checklist("first", ask("door"), item("warm", Wait(30.0)), ask("seat")))
    one.say("ready").wait(31.0).say("disregard")

    assert "seat" == in_hand(one)
