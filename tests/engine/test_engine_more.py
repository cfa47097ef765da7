"""Edges of single rules, each found by breaking a line that no other test missed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from engine_aircraft import band
from engine_rig import ask, checklist, go_to, in_hand, item, mode, talk, ticked
from engine_talk import Talk

from callout.checklist.model import Await, Condition, Item, ListKind, Need, ReadValue, Settings
from callout.engine.effects import Say, ToneKind
from callout.engine.events import Heard, Reading, SpeechEnded, Stopped
from callout.engine.rules import State
from callout.engine.state import Status

OVERRIDE = ("override", "not fitted", "confirm override")
NEXT = checklist("next", ask("lamp"))
QUICK = Settings(look_time=1.0)


def answered(gap: float) -> Talk:
    """An answer that began `gap` seconds after the end of its call."""
    one = talk(checklist("first", ask("door"), ask("lamp")), settings=QUICK)
    one.hear_out()
    serial = one.session.state.grammar.serial
    began = one.now + gap
    one.now += 3.0
    one.handle(Heard("ready", 1.0, serial, began, one.now, "test"))
    return one


def test_the_look_counts_from_the_end_of_the_call_to_the_beginning_of_the_answer():
    """Row 11: 1.0 s, as in Delta 1141's gaps under a second (NTSB/AAR-89/04, as quoted)."""
    assert ["first/door"] == answered(0.99).about("quick answer")
    assert ["first/door"] == ticked(answered(1.0))


def test_a_tick_is_written_down_with_all_that_speaks_for_it():
    tick = next(fact for fact in answered(1.25).facts if fact.fact == "ticked")

    assert {
        "answer": "ready",
        "by": "test",
        "certainty": "1.00",
        "latency": "1.25",
        "who": "pilot",
        "words": "ready",
    } == dict(tick.data)


def test_an_answer_during_the_call_is_written_down_as_before_its_end():
    one = talk(checklist("first", ask("door"), ask("lamp")))
    one.now += 0.5
    serial = one.session.state.grammar.serial
    one.handle(Heard("ready", 1.0, serial, one.now - 0.3, one.now, "test"))

    assert "-0.30" == dict(one.facts[-2].data)["latency"]


@pytest.mark.parametrize(("killer", "ways"), [(True, "override"), (False, "defer, skip")])
def test_a_denied_item_names_the_ways_on_that_it_has(killer: bool, ways: str):
    one = talk(checklist("first", ask("door", killer=killer))).say("negative")

    assert [f"Stays open. Door. Say the answer, {ways}, hold, or abort."] == one.said


def test_a_spoken_value_beyond_a_limit_sounds_the_warning_tone():
    one = talk(checklist("first", item("volts", ReadValue("battery")))).say("three one")

    assert [ToneKind.WARNING, None] == [e.tone for e in one.effects if isinstance(e, Say)]


@pytest.mark.parametrize(("waited", "complete"), [(59.9, True), (60.1, False)])
def test_a_tick_goes_out_of_date_at_its_time(waited: float, complete: bool):
    one = talk(checklist("first", ask("door", stale_after=60.0), ask("lamp"))).say("ready")
    at = one.now
    one.hear_out()
    one.now = at + waited
    serial = one.session.state.grammar.serial
    one.handle(Heard("ready", 1.0, serial, one.now - 0.5, one.now, "test"))

    assert complete is (["first"] == one.about("list complete"))


@pytest.mark.parametrize("last", [(), (go_to("next"),)])
def test_a_list_whose_gate_was_overridden_is_never_complete(last: tuple[Item, ...]):
    gated = checklist("first", ask("door"), *last, needs=(Need("next"),))
    one = talk(gated, NEXT).say(*OVERRIDE, "ready")

    assert ["first"] == one.about("list not complete")
    assert "First checklist not complete." in one.said


def test_only_what_stands_before_the_way_out_is_named():
    one = talk(checklist("first", ask("door"), ask("seat"), go_to("next")), NEXT)
    one.say("ready", "skip")
    assert "First checklist not complete. Open: Seat." in one.said
    assert Status.TICKED is one.session.state.closed[0].marks[2].status


def test_an_ended_session_wants_nothing_more():
    one = talk(checklist("first", ask("door"))).say("ready")

    assert State.ENDED is mode(one)
    assert one.session.next_deadline() is None
    assert one.session.state.answer_due is None


def test_a_need_of_a_whole_list_wants_it_complete():
    gated = checklist("second", ask("seat"), needs=(Need("first"),))
    one = talk(checklist("first", ask("door"), ask("lamp")), gated)
    one.say("skip", "ready", "proceed", "proceed")
    assert ["second"] == one.about("list refused")
    assert "Second not opened. First: First complete." in one.said[0]


def test_the_latest_run_of_a_list_counts_for_its_needs():
    stop = checklist("stop", ask("lever"), kind=ListKind.ABORT)
    first = checklist("first", ask("door"), abort="stop")
    gated = checklist("second", ask("seat"), needs=(Need("first", "door"),))
    one = talk(first, gated, stop).say("ready", "open first", "abort", "ready", "open second")

    assert ["second"] == one.about("list refused")


@pytest.mark.parametrize("kind", [ListKind.ABORT, ListKind.EMERGENCY])
def test_no_need_keeps_a_procedure_from_opening(kind: ListKind):
    fire = checklist("fire", ask("bottle"), kind=kind, needs=(Need("second"),))
    first = checklist("first", ask("door"), abort="fire" if kind is ListKind.ABORT else "")
    one = talk(first, checklist("second", ask("seat")), fire)
    one.say("abort" if kind is ListKind.ABORT else "fire")

    assert "bottle" == in_hand(one)


def test_a_condition_met_by_voice_and_feed_at_once_is_ticked_once():
    speed = item("speed", Await(Condition("speed", band("20"))))
    one = talk(checklist("first", speed, ask("door"))).say("two five")
    one.handle(Reading("speed", Decimal(25), one.now))

    assert ["first/speed"] == ticked(one)


def test_stopping_between_lists_leaves_no_list():
    one = talk(checklist("first", ask("door")), NEXT).say("ready")
    one.handle(Stopped("stopped at the keyboard"))

    assert [] == one.about("list left")
    assert State.ENDED is mode(one)


def test_the_end_of_another_sentence_does_not_start_the_time_to_answer():
    one = talk(checklist("first", ask("door")))
    due = one.session.state.answer_due
    one.handle(SpeechEnded(1))

    assert due == one.session.state.answer_due
    assert one.session.state.prompt_ended_at is None
