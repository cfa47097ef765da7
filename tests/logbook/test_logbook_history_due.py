"""Due items over sessions, counters under former names, and a killed session taken up late."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from logbook_history_rig import ATTEMPTS, CHARGE, PLANE, at, wrote

from callout.checklist.duties import Counter, Due
from callout.checklist.model import Aircraft
from callout.engine.events import Resumed, SessionOpened
from callout.engine.session import Session
from callout.logbook.codec import event_from, to_text
from callout.logbook.history import others_since, past
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook
from callout.running.opened import came_back, wall_clock

HOURS = Counter("hours", "engine time", ("start/starter",), ends=("start/released",))
OIL = Due("oil", "oil change", ("start",), "charge", every=10.0)
FILTER = Due("filter", "filter check", ("start",), "hours", every=36_000.0)
OWN = replace(PLANE, counters=(ATTEMPTS, CHARGE, HOURS), dues=(OIL, FILTER))


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log.db") as book:
        yield book


def begin(logbook: Logbook, stamp: Stamp, print_: str = "abc") -> int:
    return logbook.begin(PLANE.name, "1", "invented.yaml", print_, stamp)


def counted(logbook: Logbook, session: int, minutes: float, counter: str = "charge") -> None:
    wrote(logbook, session, at(minutes), "counted", counter=counter)


def dues(logbook: Logbook, minutes: float, plane: Aircraft = OWN) -> dict[str, tuple[float, ...]]:
    return {one[0]: one[1:] for one in past(logbook, plane, 0, at(minutes)).dues}


def test_a_due_item_counts_since_it_was_done_whatever_a_charger_gives_back(logbook: Logbook):
    session = begin(logbook, at(0))
    counted(logbook, session, 1)
    wrote(logbook, session, at(2), "count set back", counter="due/oil", date="2031-05-04")
    counted(logbook, session, 3)
    wrote(logbook, session, at(4), "count set back", counter="charge")
    wrote(logbook, session, at(5), "count given back", counter="charge", seconds="900")
    counted(logbook, session, 6)

    assert {"oil": (2.0, 0.0, date(2031, 5, 4).toordinal())} == dues(logbook, 10)


def test_done_that_was_wrong_is_taken_back(logbook: Logbook):
    session = begin(logbook, at(0))
    counted(logbook, session, 1)
    wrote(logbook, session, at(2), "count set back", counter="due/oil", date="2031-05-04")
    wrote(logbook, session, at(3), "count restored", counter="due/oil")

    assert {"oil": (1.0, 0.0, 0)} == dues(logbook, 10)


def test_what_a_person_entered_stands_from_there(logbook: Logbook):
    first = begin(logbook, at(0))
    entered = {"counter": "hours", "count": "812", "on": "2955600", "entered": "yes"}
    wrote(logbook, first, at(1), "counted", **entered)
    due = {"counter": "due/filter", "count": "0", "on": "7200", "entered": "yes"}
    wrote(logbook, first, at(2), "counted", **due)
    second = begin(logbook, at(10))
    counted(logbook, second, 11, "hours")
    wrote(logbook, second, at(41), "count ended", counter="hours")

    found = {one[0]: one[1:3] for one in past(logbook, OWN, 0, at(60)).tallies}
    assert pytest.approx((813.0, 2955600.0 + 1800.0)) == found["hours"]
    assert pytest.approx((1.0, 7200.0 + 1800.0, 0)) == dues(logbook, 60)["filter"]


def test_a_key_that_changed_keeps_its_past(logbook: Logbook):
    session = begin(logbook, at(0))
    counted(logbook, session, 1)
    wrote(logbook, session, at(2), "count set back", counter="due/oil", date="2031-05-04")
    counted(logbook, session, 3)
    new_charge = replace(CHARGE, id="battery-starts", formerly=("charge",))
    new_oil = replace(OIL, id="oil-change", counter="battery-starts", formerly=("oil",))
    plane = replace(OWN, counters=(new_charge,), dues=(new_oil,))

    assert {"oil-change": (1.0, 0.0, date(2031, 5, 4).toordinal())} == dues(logbook, 10, plane)
    (tally,) = past(logbook, plane, 0, at(10)).tallies
    assert ("battery-starts", 2.0) == tally[:2]
    assert () == past(logbook, replace(plane, counters=(replace(new_charge, formerly=()),)), 0,
                      at(10)).tallies  # fmt: skip


def test_a_session_of_the_same_file_hands_them_on(logbook: Logbook):
    first = begin(logbook, at(0))
    counted(logbook, first, 1)
    logbook.finish(first, "ended", at(2))
    second = begin(logbook, at(10))
    told = past(logbook, OWN, second, at(10), "abc")
    logbook.append(second, SessionOpened((), told.tallies, dues=told.dues), [], at(10))
    counted(logbook, second, 11)
    logbook.finish(second, "ended", at(12))
    third = begin(logbook, at(20))

    assert (("oil", 2.0, 0.0, 0),) == past(logbook, OWN, third, at(20), "abc").dues


# ---------------------------------------------------- a killed session that is taken up late


def test_a_session_taken_up_after_a_later_one_knows_what_that_counted(logbook: Logbook):
    killed = begin(logbook, at(0))
    counted(logbook, killed, 1)
    assert others_since(logbook, OWN, killed, at(5)) is None
    later = begin(logbook, at(10), "another file")
    for minute in (11, 12, 13):
        counted(logbook, later, minute)
    logbook.finish(later, "ended", at(20))

    back = came_back(1740.0, OWN, logbook, killed, at(30, now=1800.0))
    assert (True, (("oil", 4.0, 0.0, 0),)) == (back.others, back.dues)
    session = Session(OWN)
    session.handle(SessionOpened(()), 0.0)
    session.handle(back, 1800.0)
    tally = next(one for one in session.state.duties.tallies if one.counter == "charge")
    assert (4.0, None, 1800.0 - 17 * 60.0) == (tally.turns, tally.began, tally.last)
    assert back == event_from("Resumed", to_text(back))
    assert Resumed(3.0) == event_from("Resumed", '{"gap":3.0}')


def test_its_turn_ended_at_the_latest_when_the_later_one_began(logbook: Logbook):
    killed = begin(logbook, at(0))
    counted(logbook, killed, 1, "hours")
    later = begin(logbook, at(10), "another file")
    counted(logbook, later, 11, "hours")
    wrote(logbook, later, at(12), "count ended", counter="hours")
    logbook.finish(later, "ended", at(13))
    wrote(logbook, killed, at(50), "ticked", counter="")
    counted(logbook, killed, 51, "hours")
    wrote(logbook, killed, at(52), "count ended", counter="hours")

    found = {one[0]: one[2] for one in past(logbook, OWN, 0, at(60)).tallies}
    assert pytest.approx(60.0 * (9 + 1 + 1)) == found["hours"]


# ---------------------------------------------------------------------------- the wall clock


@pytest.mark.parametrize("hours", [-9, 0, 2, 13])
def test_the_day_is_the_one_of_local_time(hours: int):
    zone = timezone(timedelta(hours=hours))
    stamp = Stamp(12.5, "2031-05-04T22:30:00.500Z", 1.0, "x")
    local = datetime.fromisoformat("2031-05-04T22:30:00.500+00:00").astimezone(zone)
    midnight = datetime(local.year, local.month, local.day, tzinfo=zone)

    wall = wall_clock(stamp, zone)
    assert local.date().toordinal() == int((wall + 12.5) // 86_400)
    assert (local - midnight).total_seconds() == pytest.approx((wall + 12.5) % 86_400)
