"""Readings: awaited conditions, and limits whatever else is going on."""

from __future__ import annotations

from decimal import Decimal

import pytest
from engine_aircraft import band
from engine_rig import ask, checklist, in_hand, item, mode, talk, ticked
from engine_talk import Talk

from callout.checklist.model import Await, Condition, ListKind
from callout.engine.effects import Priority, Say
from callout.engine.events import Clock, Lost, Reading, Resumed
from callout.engine.grammar import grammar_of
from callout.engine.rules import State

STOP = checklist("stop", ask("lamp"), kind=ListKind.ABORT)
FIVE = Condition("speed", band("20", "80"), seconds=5.0)


def waiting(condition: Condition, within: float | None = None, missed: str = "") -> Talk:
    """A list that waits for the condition, and then asks for a door."""
    speed = item("speed", Await(condition, within, missed))
    return talk(checklist("first", speed, ask("door"), engine_state="start"), STOP)


def read(one: Talk, value: str, later: float = 1.0, gauge: str = "speed") -> Talk:
    one.now += later
    one.handle(Reading(gauge, Decimal(value), one.now))
    return one


def test_a_condition_is_met_by_the_reading_that_shows_it_held_for_its_whole_time():
    one = read(waiting(FIVE), "30")
    for _ in range(4):
        assert "speed" == in_hand(read(one, "31"))
    assert "door" == in_hand(read(one, "32"))
    assert ["first/speed"] == ticked(one)


def test_time_alone_never_meets_a_condition():
    """Invariant 6: a feed that went quiet shows nothing."""
    one = read(waiting(FIVE), "30").wait(60.0)
    one.handle(Clock())

    assert [] == ticked(one)


def test_a_condition_that_broke_off_has_to_hold_anew():
    one = read(waiting(FIVE), "30")
    read(read(one, "19", 3.0), "30", 1.0)

    assert "speed" == in_hand(read(one, "30", 4.9))
    assert "door" == in_hand(read(one, "30", 0.1))


@pytest.mark.parametrize("word", ["hold", "stand by", "override"])
def test_a_condition_that_broke_off_while_the_list_was_held_is_not_met(word: str):
    one = read(waiting(FIVE), "30").say(word)
    read(one, "95").say("negative" if word == "override" else "resume").wait(5.0)

    assert [] == ticked(one)
    assert State.AWAITING is mode(one)
    assert "speed" == in_hand(read(one, "30", 10.0))


def test_what_held_before_a_crash_does_not_count_after_it():
    one = read(waiting(FIVE), "30")
    one.now += 60.0
    one.handle(Resumed(60.0))
    one.say("resume").wait(5.0)
    assert [] == ticked(one)
    assert "speed" == in_hand(read(one, "30"))


def test_what_held_before_the_feed_was_lost_does_not_count_after_it():
    one = read(waiting(FIVE), "30")
    one.handle(Lost("feed", "gone"))
    one.wait(5.0)

    assert [] == ticked(one)
    assert "speed" == in_hand(read(one, "30", 6.0))


def test_another_gauge_meets_nothing():
    one = read(waiting(Condition("speed", band("20", "80"))), "25", gauge="battery")

    assert [] == ticked(one)
    assert "door" == in_hand(read(one, "25"))


def test_a_condition_reached_in_time_while_the_list_was_held_is_not_called_missed():
    one = waiting(Condition("speed", band("20")), within=15.0, missed="stop").say("hold")
    read(one, "30").wait(30.0)
    assert [] == one.about("time missed")
    assert [] == ticked(one)
    assert "speed" == in_hand(one.say("resume"))
    assert "door" == in_hand(read(one, "30"))


def test_a_reading_beyond_a_never_exceed_limit_meets_no_condition():
    """Invariant 4, the same for the feed as for the voice."""
    one = read(waiting(Condition("heat", band("200"))), "730", gauge="heat")

    assert [] == ticked(one)
    assert ["first/speed"] == one.about("limit passed")


def test_a_reading_without_a_value_is_written_down_and_meets_nothing():
    one = read(read(waiting(FIVE), "30"), "NaN", 4.0)

    assert [""] == one.about("reading without a value")
    assert "speed" == in_hand(read(one, "30", 1.0))


def test_limits_go_on_between_lists():
    """Invariant 5: an engine does not stop when its list is closed."""
    first = checklist("first", ask("door"), engine_state="start")
    one = talk(first, checklist("next", ask("lamp"))).say("ready")
    assert State.READY is mode(one)
    read(one, "730", gauge="heat")

    warning = next(e for e in one.effects if isinstance(e, Say))
    assert Priority.WARNING is warning.priority
    assert [
        "Warning. Exhaust temperature seven three zero degrees, never above seven two zero."
    ] == (one.said)


def test_before_any_list_only_the_limits_that_always_apply_count():
    one = Talk(talk(checklist("first", ask("door"))).aircraft)
    one.open("first")
    read(one, "730", gauge="heat")
    assert [] == one.about("limit passed")
    read(one, "31", gauge="battery")
    assert ["first/door"] == one.about("limit passed")


@pytest.mark.parametrize("values", [("30", "31", "95", "108", "31", "30"), ("30",) * 8])
def test_a_reading_never_leaves_a_grammar_that_is_not_of_its_state(values: tuple[str, ...]):
    """The grammar is made anew only in steps that move what it is made of."""
    one = waiting(FIVE)
    for value in values:
        state = read(one, value).session.state
        assert state.grammar == grammar_of(one.aircraft, state)
