"""Sensors that are not to be trusted: told once, never a value, and what hung on them is broken."""

from __future__ import annotations

from decimal import Decimal

import pytest
from engine_aircraft import band
from engine_rig import ask, checklist, in_hand, item, talk, ticked
from engine_talk import Talk

from callout.checklist.model import Await, Condition
from callout.engine.effects import Priority, Record, Say
from callout.engine.events import FeedFault, FeedGood, Reading, Resumed
from callout.engine.sensors import OF_A_SENSOR, OF_THE_FEED

FIVE = Condition("speed", band("20", "80"), seconds=5.0)


def waiting() -> Talk:
    return talk(checklist("first", item("speed", Await(FIVE)), ask("door")))


def read(one: Talk, value: str, later: float = 1.0) -> Talk:
    one.now += later
    one.handle(Reading("speed", Decimal(value), one.now))
    return one


def said(one: Talk, event: FeedFault | FeedGood) -> list[tuple[str, Priority]]:
    return [(e.text, e.priority) for e in one.handle(event) if isinstance(e, Say)]


@pytest.mark.parametrize("kind", OF_A_SENSOR)
def test_a_fault_is_said_once_noun_first(kind: str):
    one = waiting()

    assert [(f"Gas generator speed sensor {OF_A_SENSOR[kind]}.", Priority.CAUTION)] == said(
        one, FeedFault("speed", kind, "seen")
    )
    assert [] == said(one, FeedFault("speed", kind, "seen again"))


@pytest.mark.parametrize("kind", OF_THE_FEED)
def test_a_fault_of_the_whole_feed_has_its_own_words(kind: str):
    assert [(f"{OF_THE_FEED[kind]}.", Priority.CAUTION)] == said(waiting(), FeedFault("", kind, ""))


def test_a_fault_is_logged_with_what_was_seen():
    effects = waiting().handle(FeedFault("speed", "stuck", "63.2 % for 2 s"))

    assert [("gauge", "speed"), ("kind", "stuck"), ("what", "63.2 % for 2 s")] == [
        pair
        for e in effects
        if isinstance(e, Record) and e.fact == "sensor fault"
        for pair in e.data
    ]


@pytest.mark.parametrize("fault", [FeedFault("speed", "stuck", ""), FeedFault("", "clock", "")])
def test_what_had_held_before_a_fault_does_not_count_after_it(fault: FeedFault):
    one = read(read(waiting(), "30"), "30", 4.0)
    one.handle(fault)
    read(read(one, "30", 1.0), "30", 4.9)

    assert "speed" == in_hand(one)
    assert "door" == in_hand(read(one, "30", 0.1))


@pytest.mark.parametrize("fault", [FeedFault("heat", "stuck", ""), FeedFault("", "line", "")])
def test_a_fault_elsewhere_breaks_nothing(fault: FeedFault):
    one = read(waiting(), "30")
    one.handle(fault)

    assert "door" == in_hand(read(one, "30", 5.0))


def test_a_fault_ticks_nothing_and_a_good_sensor_neither():
    one = waiting()
    for event in (FeedFault("speed", "jumps", ""), FeedGood("speed")):
        one.handle(event)

    assert [] == ticked(one)


def test_a_sensor_that_works_again_is_said_and_a_new_fault_is_said_anew():
    one = waiting()
    one.handle(FeedFault("speed", "stuck", ""))

    assert ["Gas generator speed sensor works again."] == [
        text for text, _ in said(one, FeedGood("speed"))
    ]
    assert [] == said(one, FeedGood("speed"))
    assert 1 == len(said(one, FeedFault("speed", "stuck", "")))


def test_after_a_crash_what_is_wrong_is_told_anew():
    one = waiting()
    one.handle(FeedFault("speed", "stuck", ""))
    one.now += 5.0
    one.handle(Resumed(5.0))

    assert 1 == len(said(one, FeedFault("speed", "stuck", "")))


def test_an_unknown_gauge_is_named_as_it_came():
    assert [("Shaft torque sensor stuck.", Priority.CAUTION)] == said(
        waiting(), FeedFault("shaft torque", "stuck", "")
    )
