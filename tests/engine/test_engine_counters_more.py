"""Counters: killed anywhere, told by a gauge, and the arithmetic alone."""

from __future__ import annotations

from dataclasses import replace

import pytest
from duties_rig import (
    ATTEMPTS,
    CHARGE,
    HOURS,
    Noted,
    attempt,
    named,
    opened,
    read,
    ready,
    starting,
    tally,
)
from engine_aircraft import band
from hypothesis import given
from hypothesis import strategies as st

from callout.checklist.duties import GivesBack
from callout.checklist.model import Condition
from callout.engine import counters
from callout.engine.counters import Tally
from callout.engine.events import Lost, Resumed
from callout.engine.session import Session


def test_killed_anywhere_a_replay_counts_the_same():
    """Every prefix of the events, replayed, gives the tally that stood there."""
    one = Replayed(starting(ATTEMPTS, CHARGE, HOURS))
    one.open("start", "end").say("ready", "disregard", "ready", "ready", "ready", "open flight")
    one.wait(700.0).say("ready", "open down", "ready", "open start", "ready", "abort")

    for length in range(1, len(one.past) + 1):
        session = Session(one.aircraft)
        for at, event in one.past[:length]:
            session.handle(event, at)
        assert one.stood[length - 1] == session.state.duties


class Replayed(Noted):
    """A talk that keeps its events and what stood after each."""

    def __post_init__(self) -> None:
        super().__post_init__()
        self.past: list[tuple[float, object]] = []
        self.stood: list[object] = []

    def handle(self, event):
        effects = super().handle(event)
        self.past.append((self.now, event))
        self.stood.append(self.session.state.duties)
        return effects


def test_a_correction_with_the_same_answer_takes_no_seconds_off():
    one = opened(starting(), "start", "end").say("ready")
    began = tally(one).began
    one.say("correction ready")

    assert (1.0, began) == (tally(one).turns, tally(one).began)
    assert ["counted"] == named(one, "counted", "count taken back")


def test_a_release_that_was_not_one_lets_the_seconds_run_on():
    one = opened(starting(), "start", "end").say("ready", "ready")
    began = tally(one).began
    one.say("ready", "correction")
    assert (began, 0.0) == (tally(one).began, tally(one).seconds)
    one.say("ready")

    assert began is not None
    assert one.now - began == pytest.approx(tally(one).seconds)
    assert ["counted", "count ended", "count goes on", "count ended"] == [
        fact.fact for fact in one.facts if fact.fact.startswith("count")
    ]


def test_what_is_given_back_is_told_while_it_is_given():
    one = attempt(ready(CHARGE))
    one.say("open flight", "ready").wait(1000.0).say("what counts")

    assert ["Starts on one charge: zero of four."] == one.said
    assert 1.0 == tally(one).turns, "a question changes nothing"


def test_the_end_of_a_session_gives_back_what_was_flown():
    one = attempt(ready(CHARGE))
    one.say("open flight", "ready").wait(450.0).say("end session")

    assert 0.4 < tally(one).turns < 0.5


LIGHT = replace(ATTEMPTS, shown=Condition("speed", band("1")))
"""The gauge shows 1 while the starter is in mesh."""


def test_a_gauge_that_shows_the_turn_counts_it_and_knows_its_seconds():
    one = opened(starting(LIGHT), "start", "end")
    read(read(one, "speed", "0"), "speed", "1")
    one.say("ready", "ready", "ready")
    read(one, "speed", "1")
    began = tally(one).began
    read(one, "speed", "0")

    assert began is not None
    assert (1.0, one.now - began, None) == (
        tally(one).turns,
        tally(one).seconds,
        tally(one).began,
    )
    assert ["counted", "count ended"] == named(one, "counted", "count ended")


def test_a_tick_that_came_before_the_gauge_is_the_same_turn():
    one = opened(starting(LIGHT), "start", "end").say("ready")
    for value in ("0", "1", "1", "0"):
        read(one, "speed", value)

    assert ["counted", "count ended"] == named(one, "counted", "count ended")


def test_a_second_turn_that_only_the_gauge_shows_is_counted():
    one = opened(starting(LIGHT), "start", "end").say("ready")
    for value in ("1", "0", "0", "1"):
        read(one, "speed", value)

    assert 2.0 == tally(one).turns


def test_when_the_gauge_is_lost_the_tick_ends_it():
    one = opened(starting(LIGHT), "start", "end").say("ready")
    read(one, "speed", "1")
    one.handle(Lost("feed", "gone"))
    one.say("ready", "ready")

    assert tally(one).began is None


def test_a_gauge_that_showed_it_before_a_crash_hides_no_later_tick():
    one = opened(starting(LIGHT), "start", "end", "start")
    read(read(one, "speed", "0"), "speed", "1")
    one.say("ready")
    one.now += 30.0
    one.handle(Resumed(30.0))
    one.say("resume", "ready", "ready").wait(70.0).say("open start", "ready")

    assert 2.0 == tally(one).turns


def test_a_turn_that_ended_while_nobody_watched_ends_with_the_gauge_s_next_reading():
    for event in (Resumed(30.0), Lost("feed", "gone")):
        one = opened(starting(LIGHT), "start", "end").say("ready")
        read(one, "speed", "1")
        one.now += 30.0
        one.handle(event)
        read(one, "speed", "0")
        assert (1.0, None) == (tally(one).turns, tally(one).began)


# the arithmetic alone

BACK = replace(CHARGE, gives_back=GivesBack(900.0, "running"))


@given(
    st.lists(st.tuples(st.sampled_from(list(counters.FOLDS)), st.floats(0.0, 500.0)), max_size=30)
)
def test_no_order_of_facts_makes_a_tally_negative(steps: list[tuple[str, float]]):
    now, tally = 0.0, Tally("attempts")
    for fact, later in steps:
        now += later
        tally = counters.fold(ATTEMPTS, tally, fact, now, {})
        assert tally.turns >= 0.0
        assert tally.seconds >= 0.0
        assert counters.on(tally, now) >= tally.seconds


@given(st.integers(0, 6), st.lists(st.floats(0.0, 4000.0), max_size=6))
def test_what_is_given_back_is_what_was_flown_and_no_more(turns: int, flown: list[float]):
    tally = replace(Tally("charge"), turns=float(turns))
    expected = float(turns)
    for seconds in flown:
        tally = counters.give_back(BACK, tally, seconds)
        expected = max(0.0, expected - seconds / 900.0)

    assert expected == tally.turns


def test_a_turn_that_nobody_ended_lasts_no_longer_than_it_may():
    """A starter that was never called released was not on for the whole flight."""
    first = counters.count(ATTEMPTS, Tally("attempts"), 0.0)
    second = counters.count(ATTEMPTS, first, 500.0)

    assert (2.0, 20.0, 500.0) == (second.turns, second.seconds, second.began)
