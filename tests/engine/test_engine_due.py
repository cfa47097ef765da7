"""What has to be done again and again: said at its list, closing lists, set back by a tick."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from duties_rig import CHARGE, HOURS, Noted, facts, opened, starting
from engine_rig import ask, checklist
from hypothesis import given, settings
from hypothesis import strategies as st

from callout.checklist.duties import Counter, Due
from callout.checklist.model import Aircraft
from callout.engine.duties_due import months_after, next_date

CYCLES = Counter("cycles", "engine cycles", ("start/starter",))
OIL = Due("oil", "oil change", ("hello",), "cycles", every=10.0, warn=3.0, done_by=("service/oil",))
FILTER = Due("filter", "filter check", ("hello",), "hours", every=50 * 3600.0, warn=5 * 3600.0)
BOTTLE = Due("bottle", "bottle check", ("hello",), on=date(2031, 5, 14), months=12, warn_days=7)
WALL = date(2031, 5, 4).toordinal() * 86_400.0 + 9 * 3600.0  # nine in the morning


def plane(*dues: Due, counters: tuple[Counter, ...] = (CYCLES, HOURS, CHARGE)) -> Aircraft:
    made = starting(*counters)
    service = checklist("service", ask("oil"), ask("door"))
    return replace(made, lists=(*made.lists, service), dues=dues)


def said(one: Noted) -> list[str]:
    return [text for _, text in one.spoken]


def session(*dues: Due, wall: float = 0.0, **past: tuple[float, float, int]) -> Noted:
    told = tuple((key, *values) for key, values in past.items())
    return opened(plane(*dues), "hello", "end", dues=told, wall=wall)


@pytest.mark.parametrize(
    ("done", "text"),
    [
        (6.0, None),
        (7.0, "Oil change due in three engine cycles."),
        (9.0, "Oil change due in one engine cycle."),
        (10.0, "Oil change due now."),
        (12.0, "Oil change overdue by two engine cycles."),
    ],
)
def test_counts_that_are_left_are_said_when_its_list_opens(done: float, text: str | None):
    one = session(OIL, oil=(done, 0.0, 0))

    assert ([text] if text else []) == [t for t in said(one) if t.startswith("Oil")]


def test_it_is_said_at_its_list_and_at_no_other():
    one = session(OIL, oil=(9.0, 0.0, 0)).say("ready")
    before = len(one.times("Oil change"))
    one.say("open flight")

    assert (1, 1) == (before, len(one.times("Oil change")))


@pytest.mark.parametrize(
    ("hours", "text"),
    [
        (44.9, None),
        (45.0, "Filter check due in five hours."),
        (47.5, "Filter check due in two hours."),
        (49.6, "Filter check due in two four minutes."),
        (50.0, "Filter check due now."),
        (52.2, "Filter check overdue by three hours."),
    ],
)
def test_hours_left_are_rounded_down_and_those_beyond_up(hours: float, text: str | None):
    one = session(FILTER, filter=(0.0, hours * 3600.0, 0))

    assert ([text] if text else []) == [t for t in said(one) if t.startswith("Filter")]


@pytest.mark.parametrize(
    ("day", "text"),
    [
        (date(2031, 5, 6), None),
        (date(2031, 5, 7), "Bottle check due in seven days."),
        (date(2031, 5, 13), "Bottle check due tomorrow."),
        (date(2031, 5, 14), "Bottle check due today."),
        (date(2031, 5, 16), "Bottle check overdue by two days."),
    ],
)
def test_dates_are_counted_in_days(day: date, text: str | None):
    one = session(BOTTLE, wall=day.toordinal() * 86_400.0 + 9 * 3600.0)

    assert ([text] if text else []) == [t for t in said(one) if t.startswith("Bottle")]


def test_a_day_that_is_not_known_says_nothing_of_dates():
    assert [] == [t for t in said(session(BOTTLE)) if t.startswith("Bottle")]


def test_a_session_that_lasts_over_midnight_has_the_next_day():
    one = session(BOTTLE, wall=date(2031, 5, 13).toordinal() * 86_400.0 + 23 * 3600.0)
    one.say("ready").wait(7200.0)
    one.say("open hello")

    assert ["Bottle check due tomorrow.", "Bottle check due today."] == [
        t for t in said(one) if t.startswith("Bottle")
    ]


def test_what_is_due_by_both_says_both():
    both = replace(OIL, on=date(2031, 5, 8), warn_days=30)
    one = session(both, wall=WALL, oil=(8.0, 0.0, 0))

    assert ["Oil change due in two engine cycles or in four days."] == [
        t for t in said(one) if t.startswith("Oil")
    ]


def test_every_start_of_this_session_counts_and_a_recharge_gives_none_back():
    one = session(OIL, oil=(8.0, 0.0, 0)).say("ready")
    one.say("open start", "ready", "ready", "ready").say("open start", "ready", "ready", "ready")
    one.say("open after", "ready").say("open hello")

    assert 1 == len(one.times("Oil change due now."))
    assert 10.0 == one.session.state.duties.dues[0].tally.turns


def test_done_by_the_tick_of_an_item_with_who_how_and_the_day():
    one = session(OIL, wall=WALL, oil=(12.0, 0.0, 0)).say("ready").say("open service", "ready")

    (fact,) = facts(one, "count set back")
    assert ("due/oil", "pilot", "2031-05-04") == (fact["counter"], fact["by"], fact["date"])
    due = one.session.state.duties.dues[0]
    assert (0.0, date(2031, 5, 4).toordinal()) == (due.tally.turns, due.done)
    one.say("disregard")
    due = one.session.state.duties.dues[0]
    assert (12.0, 0) == (due.tally.turns, due.done)


@pytest.mark.parametrize("passing", ["skip", "override"])
def test_an_item_that_was_passed_without_its_answer_did_nothing(passing: str):
    one = session(OIL, oil=(12.0, 0.0, 0)).say("ready").say("open service", passing)
    if passing == "override":
        one.say(one.aircraft.settings.reasons[0], "confirm override")

    assert 12.0 == one.session.state.duties.dues[0].tally.turns


def test_an_overdue_item_closes_its_lists_until_two_utterances_override_it():
    closing = replace(OIL, closes=("start",))
    one = session(closing, oil=(11.0, 0.0, 0)).say("ready")
    one.say("open start")

    assert one.session.state.run is None
    refused = said(one)[-1]
    assert "Start not opened. Oil change overdue by one engine cycle." in refused
    one.say("override")
    assert one.session.state.run is None
    one.say(one.aircraft.settings.reasons[0])
    assert one.session.state.run is None
    one.say("confirm override")
    assert one.session.state.run is not None
    (fact,) = facts(one, "overridden")
    assert "due/oil" == fact["duty"]


def test_what_is_only_due_soon_closes_nothing():
    one = session(replace(OIL, closes=("start",)), oil=(9.0, 0.0, 0)).say("ready", "open start")

    assert one.session.state.run is not None


def test_what_counts_tells_all_of_it_however_far_away():
    one = session(OIL, FILTER, BOTTLE, wall=WALL, oil=(2.0, 0.0, 0)).say("ready")
    one.say("what counts")

    assert said(one)[-1].endswith(
        "Oil change due in eight engine cycles. Filter check due in five zero hours. "
        "Bottle check due in one zero days."
    )


@given(day=st.dates(date(1990, 1, 1), date(2090, 1, 1)), months=st.integers(1, 240))
@settings(deadline=None)
def test_so_many_months_later_is_what_dateutil_says(day: date, months: int):
    assert day + relativedelta(months=months) == months_after(day, months)


def test_after_it_was_done_its_date_follows_from_that_day():
    done = date(2031, 5, 31)

    assert date(2031, 5, 14) == next_date(BOTTLE, 0)
    assert date(2032, 5, 31) == next_date(BOTTLE, done.toordinal())
    assert date(2031, 8, 29) == next_date(replace(BOTTLE, months=0, days=90), done.toordinal())
    assert next_date(replace(BOTTLE, months=0), done.toordinal()) is None
