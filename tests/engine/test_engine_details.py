"""Details that only a changed sign in the engine showed to be held by no other test."""

from __future__ import annotations

from decimal import Decimal

import pytest
from engine_aircraft import band
from engine_rig import ask, checklist, choice, in_hand, item, mode, rig, talk
from engine_talk import Talk

from callout.checklist.model import CheckList, Gauge, Limit, ResumePolicy, Section, Settings, Wait
from callout.engine.effects import Tone, ToneKind
from callout.engine.events import Key, KeyMeaning, Resumed
from callout.engine.limits import judge
from callout.engine.rules import State


def data(one: Talk, fact: str) -> dict[str, str]:
    """What the last fact of this kind says."""
    return dict([found for found in one.facts if found.fact == fact][-1].data)


def press(one: Talk) -> Talk:
    one.handle(Key(KeyMeaning.AFFIRM, one.now, "f1"))
    return one


def test_a_refused_key_is_written_down_with_its_reason_and_answered_by_a_tone():
    one = talk(checklist("first", choice("way")))
    one.hear_out()
    one.now += 2.0
    press(one)
    assert {"words": "key affirm", "why": "A key cannot choose. Say which."} == data(one, "refused")


def test_a_key_before_the_end_of_the_call_is_answered_by_a_tone():
    one = talk(checklist("first", ask("door")))
    one.now = 0.8
    press(one)
    assert [ToneKind.NOT_UNDERSTOOD] == [e.kind for e in one.effects if isinstance(e, Tone)]


@pytest.mark.parametrize(
    ("answered", "reopened"), [(1, []), (2, ["first/c"]), (3, ["first/c", "first/d"])]
)
def test_the_section_that_is_restarted_is_that_of_the_item_in_hand_at_its_ends_too(
    answered: int, reopened: list[str]
):
    sections = (Section("", (ask("a"),)), Section("", (ask("c"), ask("d"), ask("e"))))
    plane = rig(
        CheckList("first", "First", sections),
        settings=Settings(resume=ResumePolicy.RESTART_SECTION),
    )
    one = Talk(plane).open().say(*["ready"] * answered, "hold", "resume")
    assert "c" == in_hand(one)
    assert reopened == one.about("reopened")
    assert not reopened or "restart after a hold" == data(one, "reopened")["why"]


def test_a_hold_drops_the_override_that_was_asked_for():
    one = talk(checklist("first", ask("door"))).say("override", "not fitted", "hold")
    assert State.HOLDING is mode(one)
    assert one.session.state.overriding is None
    one.say("resume", "confirm override")
    assert [] == one.about("overridden")


def test_a_wait_is_ticked_with_its_own_length_whenever_it_began():
    one = talk(checklist("first", ask("door"), item("warm", Wait(30.0)))).say("ready").wait(31.0)
    assert "30.0 s" == data(one, "ticked")["answer"]


def test_an_end_of_stand_by_is_written_down():
    one = talk(checklist("first", ask("door"))).say("stand by", "resume")
    assert ["first/door"] == one.about("resumed")


def test_away_for_a_moment_is_told_as_one_second():
    one = talk(checklist("first", ask("door")))
    one.handle(Resumed(0.2))
    assert one.said[0].startswith("Interrupted for one second.")


def test_of_two_limits_on_one_side_the_outermost_that_is_passed_is_named():
    limits = (
        Limit("any", never=band("10", "700")),
        Limit("start", never=band("20", "800")),
    )
    one = Gauge("heat", "heat", "degC", ("degrees",), band("0", "1000"), limits=limits)
    high, between = judge(one, "start", Decimal(801)), judge(one, "start", Decimal(750))
    low, over = judge(one, "start", Decimal(9)), judge(one, "start", Decimal(15))

    assert (Decimal(800), "start") == (high.limit, high.state)
    assert (Decimal(700), "any") == (between.limit, between.state)
    assert (Decimal(10), "any") == (low.limit, low.state)
    assert (Decimal(20), "start") == (over.limit, over.state)
