"""Limits in a session: what is said of one that is passed, and in which step."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from engine_aircraft import SPEED, VOLTS, band
from engine_rig import ask, checklist, item, rig
from engine_talk import Talk
from limit_feeds import START, feed
from limit_talk import ALLOWED, HEAT, answer, fed, plane, talking

from callout.checklist.load import load
from callout.checklist.model import Limit, ReadValue
from callout.engine import wording_limits
from callout.engine.effects import Priority, Say
from callout.engine.events import Reading

EXAMPLE = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"


def test_time_above_is_called_when_it_begins_and_when_it_is_over():
    said = fed(talking(), feed(10.0, (8.0, 750.0, 750.0)))

    assert [
        ALLOWED,
        "Warning. Exhaust temperature above seven four zero for more than five seconds.",
    ] == said


def test_time_in_all_is_called_as_such():
    parts = ((4.5, 750.0, 750.0), (3.0, 600.0, 600.0), (4.0, 750.0, 750.0))
    said = fed(talking(), feed(10.0, *parts))

    assert (
        "Warning. Exhaust temperature above seven four zero for more than eight seconds in all."
        == said[-1]
    )


def test_a_limit_ahead_is_called_in_few_words_before_the_limit_itself():
    one = talking()
    said = fed(one, feed(10.0, (2.0, 300.0, 300.0), (3.0, 300.0, 840.0)))

    fast = said.index("Exhaust temperature rising fast.")
    assert said[fast + 1 :][-1].startswith("Warning. Exhaust temperature eight")
    assert {"ahead"} == {
        dict(fact.data)["kind"] for fact in one.facts if fact.fact == "limit ahead"
    }


def test_a_limit_ahead_is_a_warning():
    one = talking()
    for at, value in feed(10.0, (2.0, 300.0, 300.0), (3.0, 300.0, 840.0)):
        one.now = at
        one.handle(Reading("heat", Decimal(f"{value:.1f}"), at))
        if one.about("limit ahead"):
            break

    assert [Priority.WARNING] == [e.priority for e in one.effects if isinstance(e, Say)]


def test_a_rate_beyond_the_owners_is_called():
    said = fed(talking(), feed(10.0, (1.0, 690.0, 690.0), (1.5, 690.0, 210.0)))

    assert [
        "Warning. Exhaust temperature falling more than three zero zero degrees per second."
    ] == said


def test_one_rise_is_one_warning_though_both_are_written_down():
    """700 a second: first ahead, then above the owner's 600 as well, then the limit itself."""
    one = talking()
    said = fed(one, feed(10.0, (2.0, 20.0, 20.0), (1.2, 20.0, 860.0)))
    kinds = [dict(fact.data).get("kind") for fact in one.facts if "limit" in fact.fact]

    assert [] == [text for text in said if "more than six" in text]
    assert "Exhaust temperature rising fast." in said
    assert {"ahead", "rate"} <= set(kinds)
    assert 1 == kinds.count("rate")


def test_a_rise_that_is_over_is_not_called_when_the_limit_it_led_to_is():
    """As above; 1 s later it has fallen well below 800, and nothing rises."""
    parts = ((2.0, 20.0, 20.0), (1.2, 20.0, 860.0), (1.0, 860.0, 690.0), (9.0, 690.0, 690.0))
    said = fed(talking(), feed(10.0, *parts))

    assert [] == [text for text in said if "more than six" in text]


def test_a_rate_is_called_when_nothing_graver_is_said_any_more():
    """Rising towards nothing that is never passed, or ahead of it: then it is news."""
    free = replace(HEAT, limits=(Limit("start", rate_at_most=Decimal(100)),))
    one = Talk(replace(plane(), gauges=(VOLTS, free, SPEED))).open("start")

    assert ["Warning. Exhaust temperature rising more than one zero zero degrees per second."] == (
        fed(one, feed(10.0, (2.0, 300.0, 300.0), (2.0, 300.0, 700.0)))
    )


def test_a_share_of_a_second_is_said():
    passing = replace(START.transient, seconds=1.5)  # type: ignore[arg-type]
    short = replace(HEAT, limits=(replace(START, transient=passing),))
    one = Talk(replace(plane(), gauges=(VOLTS, short, SPEED))).open("start")
    one.handle(Reading("heat", Decimal(750), 0.0))

    assert one.said[0].endswith("above seven four zero at most one point five seconds.")


def test_what_stands_is_said_anew_only_when_it_recurs():
    parts = ((1.0, 705.0, 705.0), (1.0, 695.0, 695.0), (1.0, 705.0, 705.0))
    again = ((1.0, 670.0, 670.0), (0.5, 705.0, 705.0))

    assert 1 == len(fed(talking(), feed(10.0, *parts)))
    assert 2 == len(fed(talking(), feed(10.0, *parts, *again)))


def test_gauges_do_not_mind_one_another():
    """The same readings, one gauge after the other or in turn."""
    heat = feed(10.0, (1.0, 650.0, 650.0), (8.0, 750.0, 750.0))
    volts = feed(10.0, (9.0, 29.0, 31.0))
    apart, mixed = talking(), talking()
    alone = fed(talking(), heat), fed(apart, volts, "battery")
    said: dict[str, list[str]] = {"heat": [], "battery": []}
    for (at, hot), (_, volt) in zip(heat, volts, strict=True):
        mixed.now = at
        for name, value in (("heat", hot), ("battery", volt)):
            mixed.handle(Reading(name, Decimal(f"{value:.1f}"), at))
            said[name] += mixed.said

    assert alone == (said["heat"], said["battery"])


def test_a_limit_of_any_state_holds_before_the_first_list():
    always = replace(HEAT, limits=(Limit("any", never=band(None, "500")),))
    one = Talk(replace(plane(), gauges=(always,)))
    one.open("start")

    assert ["Warning. Exhaust temperature six zero zero degrees, never above five zero zero."] == (
        fed(one, [(0.0, 600.0)])
    )


# values read aloud


def reading_aloud() -> Talk:
    """A list of the start that asks for the exhaust temperature three times."""
    reads = [item(name, ReadValue("heat")) for name in ("first", "second", "third")]
    lists = (checklist("start", *reads, ask("door"), engine_state="start"),)
    return Talk(replace(rig(*lists), gauges=(VOLTS, HEAT, SPEED))).open()


def test_a_value_read_aloud_above_a_transient_limit_is_told_how_long():
    one = reading_aloud().say("seven five zero")

    assert ["first"] == [fact.about[6:] for fact in one.facts if fact.fact == "ticked"]
    assert ALLOWED in one.said


def test_values_read_aloud_far_apart_add_no_time_above_and_are_called_once():
    one = reading_aloud().say("seven five zero", "seven five zero")
    assert ALLOWED not in one.said
    one.say("seven six zero")

    assert [] == [fact for fact in one.facts if fact.fact == "limit passed"]


def test_while_the_feed_shows_the_gauge_a_value_read_aloud_is_no_sample():
    one = reading_aloud()
    one.hear_out()
    fed(one, feed(10.0, (1.0, 600.0, 600.0)))
    said = answer(one, "seven five zero")

    assert ALLOWED not in said
    assert Decimal("600.0") == one.session.state.seen["heat"].value


# the example


def test_sentences_that_must_be_ready_are_known_beforehand():
    """Every gauge of the example with a never-exceed limit, on its side."""
    assert [
        "Battery voltage rising fast.",
        "Gas generator speed rising fast.",
        "Rotor speed rising fast.",
        "Exhaust temperature rising fast.",
        "Oil pressure rising fast.",
        "Oil pressure falling fast.",
        "Oil temperature rising fast.",
    ] == list(wording_limits.calls(load(EXAMPLE)))
