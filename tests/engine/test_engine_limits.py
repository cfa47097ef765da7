"""Values at, just inside and just outside their limits.

A limit "at most" and "at least" includes its figure; "never above" is passed
only beyond it: the plain meaning of the words an owner writes.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from engine_aircraft import band
from engine_rig import ask, checklist, item, talk, ticked
from engine_talk import Talk

from callout.checklist.model import Await, Condition, Gauge, Limit, Transient, Wait
from callout.engine.effects import Priority, Say, ToneKind
from callout.engine.events import Clock, Reading
from callout.engine.limits import Level, Verdict, judge


def gauge(*limits: Limit) -> Gauge:
    return Gauge("heat", "heat", "degC", ("degrees",), band("0", "1000"), limits=limits)


BOTH = gauge(Limit(caution=band("30", "650"), never=band("10", "720")))


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        ("720.1", Verdict(Level.NEVER, "above", Decimal(720))),
        ("720", Verdict(Level.CAUTION, "above", Decimal(650))),
        ("650.1", Verdict(Level.CAUTION, "above", Decimal(650))),
        ("650", Verdict(Level.NORMAL)),
        ("30", Verdict(Level.NORMAL)),
        ("29.9", Verdict(Level.CAUTION, "below", Decimal(30))),
        ("10", Verdict(Level.CAUTION, "below", Decimal(30))),
        ("9.9", Verdict(Level.NEVER, "below", Decimal(10))),
    ],
)
def test_a_limit_includes_its_own_figure(value: str, verdict: Verdict):
    assert verdict == judge(BOTH, "any", Decimal(value))


@pytest.mark.parametrize(
    ("value", "level"),
    [
        ("500", Level.NORMAL),
        ("499.9", Level.OUTSIDE),
        ("600", Level.NORMAL),
        ("600.1", Level.OUTSIDE),
        ("700", Level.OUTSIDE),
        ("721", Level.NEVER),
    ],
)
def test_the_items_range_is_graver_than_a_caution_and_less_than_a_limit(value: str, level: Level):
    assert level is judge(BOTH, "any", Decimal(value), band("500", "600")).level


def test_limits_for_any_state_apply_in_every_state_and_others_in_their_own():
    one = gauge(Limit("any", never=band(None, "900")), Limit("start", never=band(None, "720")))

    assert Level.NORMAL is judge(one, "running", Decimal(800)).level
    assert Level.NEVER is judge(one, "start", Decimal(800)).level
    assert Level.NEVER is judge(one, "running", Decimal(901)).level
    assert Level.NEVER is judge(one, "start", Decimal(901)).level


def test_the_ceiling_of_a_transient_is_never_to_be_passed():
    one = gauge(Limit(transient=Transient(Decimal(650), 5.0, Decimal(720))))

    assert Level.NORMAL is judge(one, "any", Decimal(720)).level
    assert Verdict(Level.NEVER, "above", Decimal(720)) == judge(one, "any", Decimal("720.5"))


def warned(value: str) -> Talk:
    one = talk(checklist("first", ask("door"), engine_state="start"))
    one.handle(Reading("heat", Decimal(value), 0.0))
    return one


@pytest.mark.parametrize(
    ("value", "tone", "priority"),
    [
        ("730", ToneKind.WARNING, Priority.WARNING),
        ("660", ToneKind.CAUTION, Priority.CAUTION),
    ],
)
def test_a_limit_call_is_tone_and_speech_by_its_gravity(
    value: str, tone: ToneKind, priority: Priority
):
    """14 CFR 25.1322: warning and caution apart, by two senses."""
    one = warned(value)

    calls = [(e.tone, e.priority) for e in one.effects if isinstance(e, Say)]
    assert [(tone, priority)] == calls


def test_a_caution_after_a_warning_and_a_warning_after_a_caution_are_both_called():
    one = warned("660")
    for value, fact in (
        ("730", "limit passed"),
        ("660", "caution"),
        ("600", ""),
        ("660", "caution"),
    ):
        one.facts.clear()
        one.handle(Reading("heat", Decimal(value), one.now))
        assert ([fact] if fact else []) == [each.fact for each in one.facts]


@pytest.mark.parametrize(("heard", "counts"), [("two four", True), ("two three point nine", False)])
def test_a_spoken_value_at_the_end_of_its_range_counts(heard: str, counts: bool):
    volts = item("volts", Await(Condition("battery", band("24", "29"))))
    one = talk(checklist("first", volts, ask("door"))).say(heard)

    assert counts is (["first/volts"] == ticked(one))


def test_a_mark_as_long_as_its_wait_is_not_said():
    one = talk(checklist("first", item("warm", Wait(30.0, (30.0, 0.0))), ask("door")))
    one.handle(Clock())
    assert [] == one.said
    one.wait(31.0)
    assert [] == one.about("mark")


def test_no_time_remains_after_the_end_of_a_wait():
    one = talk(checklist("first", item("warm", Wait(30.0)), ask("door")))
    one.say("stand by").wait(40.0).say("where am i")

    assert ["First, item 1 of 2. Warm. Zero seconds remaining."] == one.said
