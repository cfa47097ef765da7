"""Starter duty, starts on a charge, engine time: counted once, and said before they are broken.

The figures of the first counter (20 s on, 60 s between, 3 attempts, then 20 min) are
of the kind that handbooks of electric starters give; common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from duties_rig import (
    ATTEMPTS,
    CHARGE,
    HOURS,
    Noted,
    attempt,
    facts,
    named,
    opened,
    ready,
    starting,
    tally,
)
from engine_rig import mode

from callout.engine import counters
from callout.engine.events import Resumed
from callout.engine.rules import State


def test_after_three_attempts_the_list_does_not_open_and_the_rest_is_said():
    one = ready(replace(ATTEMPTS, between=None))
    for _ in range(3):
        attempt(one)
    one.wait(120.0)
    one.say("open start")

    assert State.READY is mode(one)
    said = " ".join(one.said)
    assert said.startswith(
        "Start not opened. Start attempts: three of three. Rest one seven minutes"
    )
    assert "override" in said
    assert ["start"] == one.about("duty refused")
    assert 3 == len(one.about("list opened")) - 1


def test_when_the_rest_is_over_that_is_said_and_the_list_opens():
    one = ready(replace(ATTEMPTS, between=None))
    for _ in range(3):
        attempt(one)
    ended = tally(one).last
    assert ended is not None
    one.say("open start").wait(1200.0)

    assert [{"counter": "attempts"}] == facts(one, "rest over")
    assert [ended + 1200.0] == one.times("Start attempts: rest complete.")
    one.say("open start")
    assert State.ASKING is mode(one)
    assert 0.0 == counters.rested(ATTEMPTS, tally(one), one.now).turns


@pytest.mark.parametrize(("before", "opens"), [(0.5, False), (0.0, True)])
def test_the_rest_is_as_long_as_it_is_to_the_moment(before: float, opens: bool):
    one = ready(replace(ATTEMPTS, between=None))
    for _ in range(3):
        attempt(one)
    last = tally(one).last
    assert last is not None
    one.wait(last + 1200.0 - before - 3.0 - one.now)
    one.say("open start")

    assert opens is (mode(one) is State.ASKING)


def test_a_pause_is_due_after_each_attempt():
    one = attempt(ready())
    one.say("open start")

    assert "Start attempts: one of three. Rest" in one.said[0]
    one.wait(60.0).say("open start")
    assert State.ASKING is mode(one)


def test_the_last_attempt_is_announced():
    one = ready()
    said = []
    for _ in range(3):
        one.wait(60.0).say("open start")
        said.append([text for text in one.said if "the last" in text])
        one.say("ready", "ready", "ready")

    assert [[], [], ["Start attempts: the last of three."]] == said


def test_the_list_is_opened_all_the_same_by_two_utterances_and_a_reason():
    one = ready(replace(ATTEMPTS, between=None))
    for _ in range(3):
        attempt(one)
    one.say("open start", "override")
    assert State.REASONING is mode(one)
    one.say("not working")
    assert State.CONFIRMING_OVERRIDE is mode(one)
    one.say("confirm override")

    assert State.ASKING is mode(one)
    assert "attempts" == facts(one, "overridden")[0]["duty"]
    one.say("ready", "ready", "ready")
    assert ["hello", "start", "start", "start"] == one.about("list complete")
    assert ["start"] == one.about("list not complete")
    assert 4.0 == tally(one).turns


def test_one_utterance_is_not_enough():
    one = ready(replace(ATTEMPTS, between=None))
    for _ in range(3):
        attempt(one)
    one.say("open start", "override", "negative", "confirm override")

    assert State.READY is mode(one)


def test_an_abort_list_is_never_kept_from_opening():
    aircraft = starting(replace(ATTEMPTS, counts=("stop/shut", "start/starter"), most=Decimal(1)))
    one = opened(aircraft, "start", "end").say("ready", "abort")

    assert ["stop"] == one.about("list opened")[1:]


def test_seconds_are_those_from_tick_to_tick():
    one = attempt(attempt(ready(HOURS)).wait(100.0))

    # the fuel item is answered at once in `attempt`; its end, in the shutdown, much later
    began = tally(one).began
    assert began is not None
    one.say("open down", "ready")
    assert one.now - began == pytest.approx(tally(one).seconds - _first(one), abs=1e-6)


def _first(one: Noted) -> float:
    """Seconds of the first turn, which the second one ended."""
    at = [float(data["on"]) for data in facts(one, "counted")]
    return at[1]


def test_starter_seconds_end_in_the_abort_list_too():
    one = opened(starting(), "start", "end").say("ready")
    one.now += 4.0
    one.say("abort", "ready", "ready")

    assert ["counted", "count ended"] == named(one, "counted", "count ended")
    assert 4.0 + 3 * 3.0 == pytest.approx(tally(one).seconds)


def test_a_turn_that_lasts_too_long_is_called_once_at_its_moment():
    one = opened(starting(), "start", "end").say("ready")
    began = tally(one).began
    assert began is not None
    one.wait(60.0)

    assert [{"counter": "attempts", "limit": "20"}] == facts(one, "duty limit")
    one.say("ready", "ready")
    assert frozenset() == one.session.state.duties.late


def test_a_turn_that_ends_in_time_is_not_called():
    one = opened(starting(), "start", "end").say("ready", "ready", "ready").wait(60.0)

    assert [] == facts(one, "duty limit")


@pytest.mark.parametrize("word", ["disregard", "correction"])
def test_a_tick_that_was_wrong_is_not_counted(word: str):
    one = opened(starting(), "start", "end").say("ready", word)
    assert 0.0 == tally(one).turns
    assert tally(one).began is None

    one.say("ready")
    assert ["counted", "count taken back", "counted"] == named(one, "counted", "count taken back")
    assert 1.0 == tally(one).turns


def test_what_is_done_again_counts_again_and_what_is_asked_again_does_not():
    back = opened(starting(), "start", "end").say("ready", "go back", "ready")
    again = opened(starting(), "start", "end").say("ready")
    again.handle(Resumed(1000.0))  # long gone: the list is asked again from its top
    again.say("resume", "ready")

    assert (2.0, 1.0) == (tally(back).turns, tally(again).turns)


@pytest.mark.parametrize(
    "words", [("skip",), ("override", "already done", "confirm override")], ids=["skip", "override"]
)
def test_an_item_passed_without_its_answer_counts_where_it_burdens(words: tuple[str, ...]):
    one = opened(starting(ATTEMPTS, CHARGE), "start", "end").say(*words)
    assert (1.0, 1.0) == (tally(one).turns, tally(one, 1).turns)

    one.say("ready", "ready", "proceed").say("open after").say(*words)
    assert 1.0 == tally(one, 1).turns, "a charger that was not connected charges nothing"


def test_the_charger_sets_it_back_and_a_charger_named_by_mistake_does_not():
    one = attempt(ready(CHARGE))
    one.say("open after", "ready")
    assert 0.0 == tally(one).turns

    one.say("correction")
    assert 1.0 == tally(one).turns


def test_flight_gives_starts_back_and_never_more_than_there_are():
    one = ready(CHARGE)
    for _ in range(2):
        attempt(one)
    one.say("open flight").wait(900.0).say("ready")
    one.say("open down")
    given = [float(data["seconds"]) for data in facts(one, "count given back")]
    assert 2.0 - sum(given) / 900.0 == pytest.approx(tally(one).turns, abs=1e-6)
    assert 900.0 < sum(given) < 925.0

    one.say("ready", "open flight").wait(9000.0).say("ready", "open down")
    assert 0.0 == tally(one).turns


def test_time_that_nobody_watched_gives_nothing_back():
    one = attempt(ready(CHARGE))
    one.say("open flight")
    one.now += 800.0
    one.handle(Resumed(800.0))
    one.say("resume", "ready", "open down")

    assert [True] == [float(data["seconds"]) < 100.0 for data in facts(one, "count given back")]


def test_on_an_empty_charge_it_is_said_what_would_fill_it():
    one = ready(CHARGE, tallies=(("charge", 4.0, 0.0, -100.0),))
    one.say("open start")

    assert (
        "Starts on one charge: four of four. First: Charger, or one five minutes of running."
        in (one.said[0])
    )


def test_hours_in_all_are_a_limit():
    one = ready(HOURS, tallies=(("hours", 9.0, 7200.0, -100.0),))
    one.say("open start")

    assert "Engine time: two hours of two hours." in one.said[0]


def test_what_counts_is_told_on_request_and_the_prompt_stays():
    one = ready(ATTEMPTS, CHARGE, HOURS, tallies=(("charge", 2.0, 0.0, -5.0),))
    one.say("what counts")

    told = (
        "Start attempts: zero of three. Starts on one charge: two of four. "
        "Engine time: zero seconds of two hours."
    )
    assert [told] == one.said
    assert State.READY is mode(one)


def test_a_past_session_s_rest_goes_on_in_this_one():
    one = opened(starting(), "start", "end", tallies=(("attempts", 3.0, 40.0, -600.0),))

    assert State.READY is mode(one)
    assert "three of three. Rest one zero minutes." in " ".join(one.said)


def test_a_clock_that_was_set_back_is_said():
    """Its rests count from now: never shorter than they should be."""
    past = (("attempts", 3.0, 40.0, 0.0),)
    one = opened(starting(), "start", "end", tallies=past, clock_set_back=True)

    assert "The clock was set back. Rests count from now." in one.said
    assert "Rest two zero minutes." in " ".join(one.said)


def test_a_session_of_an_older_callout_opens_with_no_past():
    one = opened(starting(), "start", "end")

    assert (0.0, None) == (tally(one).turns, tally(one).last)
    assert State.ASKING is mode(one)
