"""Items and lists as they are answered, one behaviour a test."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from engine_aircraft import aircraft
from engine_day import BEFORE, TO_VOLTS, before_start, started
from engine_rig import in_hand, mode
from engine_talk import Talk

from callout.checklist.model import ResumePolicy, Settings
from callout.engine.effects import Priority, Record, Say
from callout.engine.events import (
    Heard,
    Reading,
    SpeechEnded,
)
from callout.engine.rules import State


def test_the_notice_is_said_first_of_all():
    talk = Talk(aircraft(notice="These numbers are invented.")).open()

    assert "These numbers are invented." == talk.said[0]


def test_a_list_is_read_item_by_item_with_its_places():
    talk = before_start()

    assert ["Before start.", "Outside, Tail.", "Rotor blades?"] == talk.said
    assert ["Oil cap?"] == talk.say("free").said
    assert ["Helper: Fire bottle?"] == talk.say("secure").said
    assert ["Inside.", "Power: battery, or ground power?"] == talk.say("in hand").said


def test_a_list_whose_items_are_all_ticked_is_called_complete():
    talk = before_start().say(*BEFORE)

    assert "Before start checklist complete." in talk.said
    assert ["before-start"] == talk.about("list complete")
    assert State.ENDED is mode(talk)


def test_items_of_the_other_choice_do_not_apply():
    own = before_start().say("free", "secure", "in hand", "battery")
    ground = before_start().say("free", "secure", "in hand", "ground power")

    assert "volts" == in_hand(own)
    assert "plug" == in_hand(ground)


def test_a_value_in_range_is_read_back_digit_by_digit():
    talk = before_start().say(*TO_VOLTS, "twenty four point five")

    assert "Two four point five volts." == talk.said[0]
    assert "before-start/volts" == talk.about("ticked")[-1]


@pytest.mark.parametrize("word", ["checked", "set", "done", "roger", "check"])
def test_a_word_is_no_value(word: str):
    """Degani & Wiener J1, AC 120-71B 5.4: a value item wants its value."""
    talk = before_start().say(*TO_VOLTS, word)

    assert "volts" == in_hand(talk)
    assert ["before-start/volts"] == talk.about("wrong answer")


def test_a_value_out_of_range_is_spoken_back_with_its_limit_and_stays_open():
    talk = before_start().say(*TO_VOLTS, "two three")

    assert [
        "Battery voltage two three volts, limit at least two four.",
        "Battery voltage?",
    ] == talk.said
    assert "volts" == in_hand(talk)


def test_a_spoken_value_beyond_a_never_exceed_limit_is_a_warning():
    talk = before_start().say(*TO_VOLTS, "three one")

    warning = next(e for e in talk.effects if isinstance(e, Say))
    assert Priority.WARNING is warning.priority
    assert "Warning. Battery voltage three one volts, never above three zero." == warning.text
    assert ["before-start/volts"] == talk.about("limit passed")


def test_a_number_the_gauge_cannot_show_is_refused():
    talk = before_start().say(*TO_VOLTS, "four thousand")

    assert ["before-start/volts"] == talk.about("impossible value")


def test_fifteen_or_fifty_is_confirmed_before_it_counts():
    talk = started().say("fifty")

    assert State.CONFIRMING is mode(talk)
    assert [] == talk.about("ticked")[len(BEFORE) + 1 :]
    assert "start/turn" == talk.say("affirm").about("ticked")[-1]


def test_a_doubtful_number_may_be_answered_with_its_digits():
    talk = started().say("fifty", "five zero")

    assert "start/turn" == talk.about("ticked")[-1]


def test_a_denied_number_is_asked_for_again():
    talk = started().say("fifty", "negative")

    assert State.AWAITING is mode(talk)
    assert "turn" == in_hand(talk)


def test_advice_is_done_when_it_was_said_to_its_end():
    talk = Talk(aircraft()).open("before-start", "start").say(*BEFORE, "proceed")
    assert "mind" == in_hand(talk)
    talk.handle(SpeechEnded(talk.session.state.next_say + 7))
    assert "mind" == in_hand(talk)
    talk.hear_out()
    assert "turn" == in_hand(talk)


def test_a_condition_missed_in_time_opens_its_abort_list():
    talk = started().wait(16.0)

    assert ["before-start", "start", "stop"] == talk.about("list opened")
    assert ["start"] == talk.about("list aborted")


def test_a_measured_condition_ticks_its_item():
    talk = started()
    talk.handle(Reading("speed", Decimal(12), talk.now))
    assert "turn" == in_hand(talk)
    talk.handle(Reading("speed", Decimal(21), talk.now))
    assert "lit" == in_hand(talk)


def test_a_timed_wait_says_its_marks_and_ends_by_itself():
    talk = started().say("two five", "four hundred")
    assert State.TIMING is mode(talk)
    began = talk.now
    talk.wait(65.0)

    assert ["start/warm", "start/warm"] == talk.about("mark")
    assert "start/warm" == talk.about("ticked")[-1]
    assert "end" == in_hand(talk)
    assert talk.now > began + 60


def test_a_wait_runs_on_while_the_list_is_held_and_is_ticked_on_resume():
    talk = started().say("two five", "four hundred", "hold").wait(70.0)
    assert State.HOLDING is mode(talk)
    assert "start/warm" != talk.about("ticked")[-1]
    talk.say("resume")
    assert "start/warm" == talk.about("ticked")[-1]


def test_an_answer_quicker_than_a_look_is_queried_once():
    """Delta 1141, NTSB/AAR-89/04 as quoted: answers under a second, wrong flaps."""
    talk = started().say("two five", "four hundred").wait(61.0)
    assert "end" == in_hand(talk)
    talk.hear_out()
    serial = talk.session.state.grammar.serial
    talk.handle(Heard("stable", 1.0, serial, talk.now + 0.2, talk.now + 0.6, "test"))
    assert ["start/end"] == talk.about("quick answer")
    assert "end" == in_hand(talk)
    talk.handle(Heard("stable", 1.0, serial, talk.now + 0.7, talk.now + 1.0, "test"))
    assert "start/end" == talk.about("ticked")[-1]


def test_hold_and_resume_name_the_item_and_repeat_the_last_one():
    """FSF ALAR Briefing Note 1.5, as quoted: hold at ITEM, repeat the last completed item."""
    talk = before_start().say("free", "hold")
    assert ["Holding at Oil cap."] == talk.said
    talk.say("secure")
    assert "oil" == in_hand(talk)
    assert [] == [e for e in talk.effects if isinstance(e, Record) and e.fact == "ticked"]
    talk.say("resume")
    assert ["Last item: Rotor blades, free.", "Oil cap?"] == talk.said


def test_resume_may_restart_the_section():
    policy = Settings(resume=ResumePolicy.RESTART_SECTION)
    talk = before_start(policy).say("free", "secure", "hold", "resume")

    assert "blades" == in_hand(talk)
    assert ["before-start/blades", "before-start/oil"] == talk.about("reopened")


def test_resume_may_restart_the_list():
    policy = Settings(resume=ResumePolicy.RESTART_LIST)
    talk = before_start(policy).say(*TO_VOLTS, "hold", "resume")

    assert "blades" == in_hand(talk)


def test_a_tick_that_went_stale_during_a_hold_is_asked_again():
    lists = list(aircraft().lists)
    sections = list(lists[0].sections)
    old = sections[0]
    blades = replace(old.items[0], stale_after=60.0)
    sections[0] = replace(old, items=(blades, *old.items[1:]))
    lists[0] = replace(lists[0], sections=tuple(sections))
    talk = Talk(replace(aircraft(), lists=tuple(lists))).open("before-start")
    talk.say("free", "hold").wait(90.0).say("resume")

    assert "blades" == in_hand(talk)


def test_stand_by_is_silent_and_still_takes_the_answer():
    talk = before_start().say("stand by").wait(600.0)
    assert State.STANDING_BY is mode(talk)
    assert [] == talk.about("no answer")
    assert "before-start/blades" == talk.say("free").about("ticked")[-1]


def test_a_deferred_item_comes_back_before_the_gate_and_blocks_it():
    talk = before_start().say("free", "defer", "in hand", "battery", "two five")
    assert "oil" == in_hand(talk)
    assert "oil" == in_hand(talk.say("defer"))
    assert "oil" == in_hand(talk.say("skip"))
    talk.say("secure")
    assert "area" == in_hand(talk)


def test_a_killer_item_is_passed_only_by_two_utterances_and_a_reason():
    talk = before_start()
    for word in ("skip", "defer", "negative", "proceed", "unable"):
        assert "blades" == in_hand(talk.say(word)), word
    talk.say("override")
    assert State.REASONING is mode(talk)
    talk.say("not fitted")
    assert [] == talk.about("overridden")
    talk.say("confirm override")
    assert ["before-start/blades"] == talk.about("overridden")
    talk.say("secure", "in hand", "battery", "two five", "clear")
    assert [] == talk.about("list complete")
    assert ["before-start"] == talk.about("list not complete")
    assert "Before start checklist not complete. Overridden: Rotor blades." in talk.said


def test_an_override_can_be_taken_back():
    talk = before_start().say("override", "negative")

    assert State.ASKING is mode(talk)
    assert [] == talk.about("overridden")


def test_skipped_items_are_read_out_by_name_at_the_end():
    talk = before_start().say("free", "skip", *BEFORE[2:])
    assert ["Before start checklist not complete. Open: Oil cap. Say go back, or proceed."] == (
        talk.said[-1:]
    )
    talk.say("go back", "secure")
    assert ["before-start"] == talk.about("list complete")


def test_proceed_leaves_open_items_and_the_list_is_not_complete():
    talk = before_start().say("free", "skip", *BEFORE[2:], "proceed")

    assert ["before-start"] == talk.about("list not complete")


def test_the_start_list_does_not_open_before_its_gate_was_answered():
    talk = Talk(aircraft()).open("start")
    assert [] == talk.about("list opened")
    assert "Start not opened. First: Area in Before start." in talk.said[0]
    talk.say("open start")
    assert [] == talk.about("list opened")
    talk.say("override")
    assert ["No override of Area before Start. Say open and the name of a list."] == talk.said
    talk.say("already done", "confirm override")
    assert [] == talk.about("list opened")
