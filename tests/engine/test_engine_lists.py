"""Lists open and close as they must: complete, not complete, empty, left, refused."""

from __future__ import annotations

from engine_rig import ask, checklist, choice, go_to, in_hand, mode, only, rig, talk
from engine_talk import Talk

from callout.checklist.model import ListKind, Need
from callout.engine.rules import State

NEXT = checklist("next", ask("lamp"))
OVERRIDE = ("override", "not fitted", "confirm override")


def test_a_list_that_goes_over_into_another_is_called_complete_when_it_is():
    one = talk(checklist("first", ask("lever"), go_to("next")), NEXT).say("ready")

    assert ["Going on.", "First checklist complete.", "Next.", "Lamp?"] == one.said
    assert ["first"] == one.about("list complete")


def test_an_overridden_item_keeps_a_list_from_being_complete_however_it_is_left():
    """Invariant 2: passed by two utterances and a reason, and then never complete."""
    first = checklist("first", ask("lever", killer=True), go_to("next"))
    one = talk(first, NEXT).say(*OVERRIDE)

    assert [] == one.about("list complete")
    assert ["first"] == one.about("list not complete")
    assert "First checklist not complete. Overridden: Lever." in one.said


def test_deferred_items_come_back_before_a_list_goes_over_into_another():
    one = talk(checklist("first", ask("lever"), ask("door"), go_to("next")), NEXT)
    one.say("defer", "ready")
    assert "lever" == in_hand(one)
    one.say("ready")
    assert ["first"] == one.about("list complete")


def test_what_was_skipped_is_named_when_a_list_goes_over_into_another():
    one = talk(checklist("first", ask("lever"), ask("door"), go_to("next")), NEXT)
    one.say("skip", "ready")

    assert "First checklist not complete. Open: Lever." in one.said
    assert ["first"] == one.about("list not complete")


def test_a_list_left_on_the_way_by_a_choice_is_not_called_complete():
    way = go_to("next", only_if=only("way", "left"))
    one = talk(checklist("first", choice("way"), way, ask("door")), NEXT).say("left")

    assert ["Going on.", "First checklist left.", "Next.", "Lamp?"] == one.said
    assert ["first"] == one.about("list left")
    assert "next" == one.session.state.run.list_id


def test_what_its_gate_was_overridden_for_is_never_complete_when_left_either():
    gated = checklist("first", ask("lever"), go_to("next"), needs=(Need("next"),))
    one = talk(gated, NEXT).say(*OVERRIDE, "ready")

    assert [] == one.about("list complete")


def test_a_list_in_which_nothing_applies_says_so_and_does_not_stop_the_program():
    empty = checklist("second", ask("lever", only_if=only("way", "right")))
    one = talk(checklist("first", choice("way")), empty).say("left", "proceed")

    assert "No item applies." in one.said
    assert State.ENDED is mode(one)


def test_an_emergency_in_which_nothing_applies_leads_back_between_lists():
    fire = checklist("fire", ask("lever", only_if=only("way", "right")), kind=ListKind.EMERGENCY)
    one = talk(checklist("first", choice("way"), ask("door")), fire).say("left", "fire")

    assert State.READY is mode(one)


def test_a_file_without_normal_lists_offers_the_others():
    fire = checklist("fire", ask("lever"), kind=ListKind.EMERGENCY)
    one = Talk(rig(fire)).open()

    assert State.READY is mode(one)
    assert "fire" == one.say("open fire").session.state.run.list_id


def test_abort_at_the_held_end_of_an_abort_list_reads_what_is_open_again():
    stop = checklist("stop", ask("lamp"), kind=ListKind.ABORT)
    first = checklist("first", ask("lever"), abort="stop")
    one = talk(first, stop).say("abort", "skip", "hold")
    assert State.HOLDING is mode(one)
    one.say("abort")

    assert State.REVIEWING is mode(one)


def test_an_emergency_called_again_at_its_held_end_reads_what_is_open_again():
    fire = checklist("fire", ask("lamp"), kind=ListKind.EMERGENCY)
    one = talk(checklist("first", ask("lever")), fire).say("fire", "skip", "hold", "fire")

    assert State.REVIEWING is mode(one)


def test_lists_that_were_not_run_are_in_the_log_when_the_session_ends():
    """NASA/TM-2010-216396, as quoted: omitted lists must be told apart in the log."""
    one = talk(checklist("first", ask("lever")), NEXT).say("ready", "end session")

    assert {"not run": "next", "why": "ended by the pilot"} == dict(one.facts[-1].data)


def test_opening_a_list_again_starts_it_afresh():
    """An answer of the first run cannot be corrected into the second."""
    first = checklist("first", ask("lever"), ask("door"))
    one = talk(first, NEXT).say("ready", "ready")
    assert ["first"] == one.about("list complete")
    one.say("open first", "correction ready")

    assert "lever" == in_hand(one)
    assert 2 == len(one.about("ticked"))
