"""Choices decide what applies; one that was not made hides nothing."""

from __future__ import annotations

from engine_rig import ask, checklist, choice, go_to, in_hand, mode, only, talk, ticked
from engine_talk import Talk

from callout.checklist.model import ListKind, Need
from callout.engine.rules import State

LEFT = ask("port", only_if=only("way", "left"))
RIGHT = ask("starboard", only_if=only("way", "right"))
FIRST = checklist("first", choice("way"), LEFT, RIGHT, ask("seat"))


def reached(one: Talk, *words: str) -> list[str]:
    """Ids of the items in hand after each of the words."""
    return [in_hand(one.say(word)) for word in words]


def test_what_was_ticked_under_a_choice_is_asked_again_when_the_choice_is():
    one = talk(FIRST).say("left", "ready", "go back", "go back", "left")

    assert "port" == in_hand(one)
    assert ["first/port", "first/way"] == one.about("reopened")


def test_ticks_under_the_other_choice_do_not_count_later():
    one = talk(FIRST).say("left", "ready", "go back", "go back", "right", "ready")
    assert ["starboard", "way", "port"] == reached(one, "go back", "go back", "left")


def test_an_override_under_a_choice_that_was_taken_back_leaves_no_trace():
    one = talk(FIRST).say("left", "override", "not fitted", "confirm override", "go back")
    one.say("go back", "right", "ready", "ready")

    assert ["first"] == one.about("list complete")


def test_a_choice_that_is_skipped_hides_no_item():
    """Invariant 2: a killer item is not passed by the word that skips the choice before it."""
    killer = ask("port", killer=True, only_if=only("way", "left"))
    one = talk(checklist("first", choice("way"), killer, RIGHT)).say("skip")
    assert "port" == in_hand(one)
    assert ["port", "port", "starboard"] == reached(one, "skip", "proceed", "ready")
    one.say("ready")
    assert "First checklist not complete. Open: Way. Say go back, or proceed." == one.said[-1]


def test_a_choice_that_is_skipped_leads_out_of_no_list():
    """Found by search: it hid a killer item behind the way out."""
    way_out = go_to("next", only_if=only("way", "right"))
    killer = ask("port", killer=True)
    one = talk(checklist("first", choice("way"), way_out, killer), OTHER).say("skip")

    assert "port" == in_hand(one)
    one.say("ready")
    assert ["first"] == one.about("list opened")


def test_a_choice_asked_again_at_the_lists_end_asks_again_what_hangs_on_it():
    one = talk(FIRST).say("skip", "ready", "ready", "ready", "go back")
    assert ["way", "port"] == [in_hand(one), in_hand(one.say("left"))]
    one.say("ready")
    assert ["first"] == one.about("list complete")


def test_a_choice_that_is_overridden_hides_no_item():
    one = talk(FIRST).say("override", "not fitted", "confirm override")

    assert "port" == in_hand(one)
    assert ["starboard", "seat"] == reached(one, "ready", "ready")


def test_a_deferred_choice_is_made_before_the_list_ends():
    one = talk(FIRST).say("defer")
    assert ["way", "port"] == reached(one, "ready", "left")
    one.say("ready")
    assert ["first"] == one.about("list complete")


OTHER = checklist("next", ask("lamp"), LEFT, RIGHT)


def test_a_choice_never_made_hides_no_item_of_another_list():
    """NUREG-0700 s.8, from memory: never hide that a step is unassessed."""
    one = talk(OTHER, FIRST)
    assert ["Next.", "Not chosen: Way. The items of every way are asked.", "Lamp?"] == one.said
    assert ["next"] == one.about("choice not made")
    assert ["port", "starboard"] == reached(one, "ready", "ready")


def test_a_choice_made_in_a_list_before_decides_in_the_next():
    one = talk(FIRST, OTHER).say("left", "ready", "ready", "proceed")
    assert ["Next.", "Lamp?"] == one.said
    assert ["port"] == reached(one, "ready")
    one.say("ready")
    assert ["first", "next"] == one.about("list complete")


def test_a_list_opened_again_asks_for_its_choice_again():
    stop = checklist("stop", ask("lever"), kind=ListKind.ABORT)
    first = checklist("first", choice("way"), LEFT, RIGHT, abort="stop")
    one = talk(first, OTHER, stop).say("left", "abort", "ready", "open first", "abort", "ready")
    one.say("open next")

    assert "Not chosen: Way. The items of every way are asked." in one.said


def test_an_emergency_is_not_held_up_by_news_of_a_choice():
    fire = checklist("fire", LEFT, RIGHT, kind=ListKind.EMERGENCY)
    one = talk(FIRST, fire).say("fire")

    assert ["Port?"] == one.said[-1:]
    assert ["fire"] == one.about("choice not made")
    assert "Not chosen" not in " ".join(one.said)


GATED = checklist("next", ask("lamp"), needs=(Need("first", "port"),))


def test_a_need_that_the_choice_leaves_out_is_no_need():
    one = talk(FIRST, GATED).say("right", "ready", "ready", "proceed")

    assert "lamp" == in_hand(one)


def test_a_need_that_waits_for_its_choice_is_not_met():
    stop = checklist("stop", ask("lever"), kind=ListKind.ABORT)
    first = checklist("first", choice("way"), LEFT, abort="stop")
    one = talk(first, GATED, stop).say("abort", "ready", "open next")

    assert State.READY is mode(one)
    assert ["next"] == one.about("list refused")
    assert ["stop/lever"] == ticked(one)
