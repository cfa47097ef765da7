"""More details that only a changed sign in the engine showed to be held by no other test.

What was reopened and why, choices that nobody made, squawks and changed lists as they are
written down, and what is seen ahead of a limit.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from duties_rig import ATTEMPTS, at_wait, attempt, ready, tally
from duties_rig import starting as counted
from engine_aircraft import band
from engine_rig import ask, checklist, choice, in_hand, item, only, rig, talk
from engine_start import starting
from engine_talk import Talk
from limit_feeds import START, feed, gauge, the, watched
from squawk_talk import opened

from callout.checklist.model import Await, Condition, Limit, ListKind
from callout.engine import trend, wording_duties
from callout.engine.effects import Say
from callout.engine.events import Reading, SessionOpened
from callout.engine.limit_findings import Kind

WAYS = checklist("first", choice("way"), ask("port", only_if=only("way", "left")), ask("seat"))


def facts(one: Talk, fact: str) -> list[tuple[str, dict[str, str]]]:
    """What the facts of this kind are about, and what they say."""
    return [(found.about, dict(found.data)) for found in one.facts if found.fact == fact]


def test_there_is_no_way_back_from_the_first_item_which_is_asked_again():
    one = talk(checklist("first", ask("door"))).say("go back")

    assert ["This is the first item.", "Door?"] == one.said


def test_what_was_reopened_is_written_down_with_what_it_was_and_why():
    one = talk(WAYS).say("left", "ready", "go back", "go back")

    assert [
        ("first/port", {"was": "ready", "status": "ticked", "why": "go back"}),
        ("first/way", {"was": "left", "status": "ticked", "why": "go back"}),
    ] == facts(one, "reopened")


def test_what_hung_on_a_choice_is_reopened_because_of_it():
    one = talk(WAYS).say("skip", "ready", "ready", "go back")

    assert [("first/way", "go back"), ("first/port", "way reopened")] == [
        (about, said["why"]) for about, said in facts(one, "reopened")
    ]


def test_a_tick_out_of_date_is_written_down_as_stale():
    one = talk(checklist("first", ask("door", stale_after=30.0), ask("seat"), ask("area")))
    one.say("ready").wait(60.0)
    one.say("ready", "ready")

    assert [("first/door", "stale")] == [
        (about, said["why"]) for about, said in facts(one, "reopened")
    ]


def test_choices_that_nobody_made_are_named_one_after_another_and_written_down():
    ways = checklist("first", choice("way"), choice("side"))
    last = checklist(
        "last", ask("port", only_if=only("way", "left")), ask("bow", only_if=only("side", "left"))
    )
    one = Talk(rig(ways, last)).open("last")

    assert "Not chosen: Way, Side. The items of every way are asked." == one.said[1]
    assert [("last", {"choice": "way"}), ("last", {"choice": "side"})] == facts(
        one, "choice not made"
    )


def test_a_choice_is_kept_once_however_often_it_is_made():
    one = talk(WAYS).say("left", "go back", "right", "go back", "left")

    assert (("way", "left"),) == one.session.state.choices
    assert "port" == in_hand(one)


def test_a_squawk_that_was_read_is_written_down_at_its_item():
    one = opened().say("ready", "ready")

    assert [("walk/oil", {"squawk": "7.1"}), ("walk/tail", {"squawk": "9.2"})] == facts(
        one, "squawk read"
    )


def test_a_list_that_is_grounded_is_written_down_with_the_squawks_that_say_so():
    one = opened().say("ready", "ready", "ready", "proceed")

    assert [("start", {"squawks": "9.2"})] == facts(one, "list grounded")


def test_changed_lists_that_may_break_in_are_named_one_after_another():
    stops = [checklist(name, ask("fuel"), kind=ListKind.ABORT) for name in ("stop", "fire")]
    one = Talk(rig(checklist("first", ask("door")), *stops))
    one.handle(
        SessionOpened(
            (), contents=(("stop", "new"), ("fire", "new")), flown=(("stop", "a"), ("fire", "a"))
        )
    )

    assert "Changed lists: Stop, Fire." in one.said


@pytest.mark.parametrize(
    ("last", "side", "limit"),
    [((0.6, 700.0, 790.0), "above", 800), ((0.6, 130.0, 30.0), "below", 20)],
)
def test_what_is_seen_ahead_says_when_and_how_fast_it_goes(last, side: str, limit: int):
    """At 10 Hz in a straight line: so fast as the line is, from the newest sample on."""
    seconds, begins, ends = last
    bare = gauge(Limit("start", never=START.never))
    samples = feed(10.0, (2.0, begins, begins), (seconds, begins, ends))
    found = the(watched(samples, bare).memory, Kind.AHEAD)

    assert (side, Decimal(limit)) == (found.side, found.limit)
    assert found.since in [at for at, _ in samples]
    assert pytest.approx((ends - begins) / seconds, rel=0.3) == found.seen


def test_a_limit_that_is_read_aloud_is_written_down_with_its_number():
    one = starting()
    one.lit()
    one.tell("exhaust temperature eight five zero")

    (said,) = one.data("limit passed")
    assert ("exhaust-temperature", "850") == (said["gauge"], said["value"])
    assert Decimal(said["limit"]) < 850


def test_a_gauge_that_ticks_an_item_is_written_down_with_its_value():
    turn = item("turn", Await(Condition("speed", band("20"))))
    one = talk(checklist("first", turn, ask("door")))
    one.hear_out()
    one.handle(Reading("speed", Decimal(21), one.now))

    assert [("first/turn", "21")] == [(at, said["answer"]) for at, said in facts(one, "ticked")]


def test_a_limit_that_a_gauge_passes_is_written_down_with_its_numbers():
    one = talk(checklist("first", ask("door"), engine_state="start"))
    one.handle(Reading("heat", Decimal(740), one.now))

    ((_, said),) = facts(one, "limit passed")
    assert ("heat", "740", "720") == (said["gauge"], said["value"], said["limit"])


def test_a_word_that_passes_an_item_counts_only_alone_and_one_that_asks_within_a_sentence_too():
    one = talk(checklist("first", ask("door"), abort="stop"), checklist("stop", ask("fuel")))
    alone = {phrase.text: phrase.alone for phrase in one.session.state.grammar.phrases}

    assert alone["skip"]
    assert alone["override"]
    assert not alone["say again"]
    assert not alone["abort"]


def test_the_time_that_is_left_of_a_cool_down_is_said_at_once_or_dropped():
    one = at_wait()
    one.wait(60.0)
    (said,) = (effect for effect in one.effects if isinstance(effect, Say))

    assert "One minute remaining." == said.text
    assert said.fresh is not None
    assert 0.0 < said.fresh <= 5.0  # longer, and it would be wrong by what it tells


def test_a_start_that_is_refused_is_written_down_with_the_rest_that_is_left():
    one = ready(replace(ATTEMPTS, between=None))
    for _ in range(3):
        attempt(one)
    ended = tally(one).last
    one.wait(120.0)
    one.say("open start")

    assert ended is not None
    ((about, said),) = facts(one, "duty refused")
    assert ("start", "attempts", "3") == (about, said["counter"], said["count"])
    assert pytest.approx(ended + 1200.0 - one.now, abs=0.1) == float(said["rest"])


def test_a_turn_that_lasts_too_long_is_called_by_what_began_it():
    said = wording_duties.too_long(counted(ATTEMPTS), ATTEMPTS)
    assert "Caution. Starter, two zero seconds, the longest at a time." == said


def test_a_window_keeps_its_own_lengths_and_its_fewest_samples():
    window = trend.Window(seconds=0.5, longest_gap=1.0, least=7)
    for at in range(20):
        window = trend.add(window, 0.1 * at, float(at))

    assert (0.5, 1.0, 7) == (window.seconds, window.longest_gap, window.least)
    assert 7 <= window.samples
