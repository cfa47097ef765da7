"""What past sessions counted: summed from the log, by the clock that can be trusted."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from logbook_history_rig import PLANE, at, wrote

from callout.engine import counters
from callout.engine.effects import Record
from callout.engine.events import Clock, Heard, SessionOpened
from callout.engine.rundown import FACT
from callout.engine.session import Session
from callout.logbook import codec, migrations
from callout.logbook.errors import EntryError
from callout.logbook.history import Past, past
from callout.logbook.stamp import RECORDING, Stamp, set_back
from callout.logbook.store import Logbook


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log.db") as book:
        yield book


def begin(logbook: Logbook, stamp: Stamp, name: str = PLANE.name) -> int:
    return logbook.begin(name, "1", "invented.yaml", "abc", stamp)


def started(logbook: Logbook, session: int, stamp: Stamp) -> None:
    wrote(logbook, session, stamp, "counted", counter="charge")


def told(logbook: Logbook, now: Stamp, session: int = 0) -> Past:
    return past(logbook, PLANE, session, now)


def test_nothing_was_counted_before_the_first_session(logbook: Logbook):
    assert Past() == told(logbook, at(0))


def test_counts_of_every_past_session_add_up(logbook: Logbook):
    for day in range(3):
        session = begin(logbook, at(1440.0 * day, boot=f"day {day}"))
        started(logbook, session, at(1440.0 * day + 10.0, boot=f"day {day}"))
        logbook.finish(session, "ended", at(1440.0 * day + 60.0, boot=f"day {day}"))

    ago = -60.0 * (1440.0 - 10.0)
    assert (("charge", 3.0, 0.0, ago),) == told(logbook, at(4320.0, boot="day 3")).tallies


def test_another_aircraft_a_recording_and_this_session_are_no_past(logbook: Logbook):
    for session in (
        begin(logbook, at(0), "Another helicopter"),
        begin(logbook, at(0, boot=RECORDING)),
        mine := begin(logbook, at(0)),
    ):
        started(logbook, session, at(1))

    assert () == told(logbook, at(2), session=mine).tallies


def test_a_turn_that_a_kill_left_open_ended_with_the_last_entry(logbook: Logbook):
    session = begin(logbook, at(0))
    wrote(logbook, session, at(1), "counted", counter="attempts")
    logbook.append(session, Clock(), [], at(1.5))

    assert (("attempts", 1.0, 30.0, -510.0),) == told(logbook, at(10)).tallies


def test_a_turn_left_open_is_closed_before_the_next_session_s_first(logbook: Logbook):
    for minute in (0.0, 100.0):
        session = begin(logbook, at(minute))
        wrote(logbook, session, at(minute + 1), "counted", counter="attempts")
        logbook.append(session, Clock(), [], at(minute + 2))

    (tally,) = told(logbook, at(200)).tallies
    assert ("attempts", 1.0, 60.0) == tally[:3], "the rest between set the first one back"


def test_a_rest_goes_on_through_the_night_by_the_wall_clock(logbook: Logbook):
    session = begin(logbook, at(0))
    wrote(logbook, session, at(1), "counted", counter="charge")

    assert (("charge", 1.0, 0.0, -1140.0),) == told(logbook, at(20, boot="second")).tallies


@pytest.mark.parametrize("wall", [-600.0, 0.0, 9000.0])
def test_on_the_same_start_of_the_machine_the_wall_clock_means_nothing(
    logbook: Logbook, wall: float
):
    session = begin(logbook, at(0))
    started(logbook, session, at(1))
    found = told(logbook, at(20, wall=wall))

    assert (-1140.0, False) == (found.tallies[0][3], found.clock_set_back)


def test_a_clock_that_was_set_back_is_noticed_and_no_time_is_counted(logbook: Logbook):
    """Never negative: three attempts an hour ahead of the clock still have all their rest."""
    session = begin(logbook, at(60))
    for minute in (61.0, 62.0, 63.0):
        wrote(logbook, session, at(minute), "counted", counter="charge")
    found = told(logbook, at(0, boot="second"))

    assert Past((("charge", 3.0, 0.0, 0.0),), (), clock_set_back=True) == found


def test_a_clock_set_back_between_past_sessions_turns_no_order_around(logbook: Logbook):
    """The later session's wall clock stood before the earlier one's."""
    first = begin(logbook, at(100, boot="a"))
    wrote(logbook, first, at(100, boot="a"), "counted", counter="attempts")
    wrote(logbook, first, at(100.5, boot="a"), "count ended", counter="attempts")
    second = begin(logbook, at(50, boot="b"))
    wrote(logbook, second, at(50, boot="b"), "counted", counter="attempts")
    wrote(logbook, second, at(50.5, boot="b"), "count ended", counter="attempts")
    (tally,) = told(logbook, at(110, boot="c")).tallies

    assert tally[2] >= 0.0
    assert tally[3] == -9.5 * 60.0


def test_what_set_it_back_and_gave_back_is_followed(logbook: Logbook):
    session = begin(logbook, at(0))
    for minute in (1.0, 2.0, 3.0):
        started(logbook, session, at(minute))
    wrote(logbook, session, at(4), "count given back", counter="charge", seconds="1350.000")
    assert 1.5 == told(logbook, at(10)).tallies[0][1]
    wrote(logbook, session, at(5), "count set back", counter="charge")
    assert 0.0 == told(logbook, at(10)).tallies[0][1]
    wrote(logbook, session, at(6), "count restored", counter="charge")
    wrote(logbook, session, at(6), "count taken back", counter="charge")

    assert 0.5 == told(logbook, at(10)).tallies[0][1]


def test_counters_that_the_file_has_no_more_are_passed_over(logbook: Logbook):
    session = begin(logbook, at(0))
    wrote(logbook, session, at(1), "counted", counter="gone")

    assert () == told(logbook, at(2)).tallies


def test_run_downs_come_back_oldest_first(logbook: Logbook):
    for minute, seconds in ((0.0, "41.20"), (100.0, "40.00")):
        session = begin(logbook, at(minute))
        wrote(logbook, session, at(minute + 1), FACT, by="gauge", seconds=seconds)

    assert (("gauge", 41.2), ("gauge", 40.0)) == told(logbook, at(200)).run_downs


@pytest.mark.parametrize("data", [{}, {"counter": "charge", "seconds": "much"}])
def test_a_fact_that_cannot_be_read_is_a_sentence(logbook: Logbook, data: dict[str, str]):
    session = begin(logbook, at(0))
    started(logbook, session, at(1))
    wrote(logbook, session, at(2), "count given back", **data)

    with pytest.raises(EntryError, match=f"Entry 4 of session {session} cannot be counted"):
        told(logbook, at(3))


def test_every_fact_that_counts_is_found_by_the_index(tmp_path: Path):
    names = {*counters.FACTS, FACT}
    found = migrations.COUNTED.split("name IN (")[1].rstrip(")").split(", ")
    assert names == {name.strip("'") for name in found}
    with Logbook.open(tmp_path / "log.db"):
        pass
    with closing(sqlite3.connect(tmp_path / "log.db")) as base:
        plan = base.execute(
            f"EXPLAIN QUERY PLAN SELECT seq, data, wall FROM entries WHERE {migrations.COUNTED} "
            "AND +session IN (SELECT session FROM sessions WHERE aircraft = ?) ORDER BY seq",
            ("x",),
        ).fetchall()
    assert any("COVERING INDEX counted_whole" in str(row) for row in plan)


def test_a_logbook_of_the_first_version_is_brought_up_to_date_and_read(tmp_path: Path):
    path = tmp_path / "log.db"
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        migrations.migrate(connection, path, migrations.MIGRATIONS[:1])
    with Logbook.open(path) as book:
        session = begin(book, at(0))
        started(book, session, at(1))

        assert 1.0 == told(book, at(2)).tallies[0][1]


def test_the_opening_event_is_read_back_as_it_was_written_and_an_old_one_too():
    event = SessionOpened(
        ("start",), (("charge", 1.5, 0.0, -600.25),), (("gauge", 40.0),), clock_set_back=True
    )

    assert event == codec.event_from("SessionOpened", codec.to_text(event))
    assert SessionOpened(("start",)) == codec.event_from("SessionOpened", '{"lists":["start"]}')
    with pytest.raises(EntryError, match=r"SessionOpened.tallies\[0\] must be 4 values"):
        codec.event_from("SessionOpened", '{"tallies":[["charge",1.0]]}')


def test_only_a_clock_that_nothing_else_corrects_counts_as_set_back():
    assert set_back(at(60), at(0, boot="second"))
    assert not set_back(at(60), at(61, boot="second"))
    assert not set_back(at(60), at(61, wall=0.0))


def talk(session: Session, logbook: Logbook, number: int, minutes: float, *words: str) -> float:
    """The session hears these words, ten seconds apart, and every fact is written down."""
    for word in words:
        minutes += 1 / 6
        now = minutes * 60.0
        serial = session.state.grammar.serial
        event = Heard(word, 1.0, serial, now - 0.5, now, "test")
        effects = session.handle(event, now)
        facts = [effect for effect in effects if isinstance(effect, Record)]
        logbook.append(number, event, facts, at(minutes, now))
    return minutes


def test_the_next_session_begins_with_exactly_what_the_last_one_ended_with(logbook: Logbook):
    """The history is folded by the engine's own functions from the engine's own facts."""
    session, number = Session(PLANE), begin(logbook, at(0))
    session.handle(SessionOpened(("start", "after")), 0.0)
    minutes = talk(session, logbook, number, 0.0, "ready", "disregard", "ready", "ready")
    minutes = talk(session, logbook, number, minutes, "open flight", "ready")
    minutes = talk(session, logbook, number, minutes + 7.0, "open start", "ready", "ready")
    minutes = talk(session, logbook, number, minutes, "open after", "skip")
    stood = session.state.duties.tallies
    found = told(logbook, at(minutes))

    assert 2 == len(found.tallies)
    for tally, (name, turns, seconds, last) in zip(stood, found.tallies, strict=True):
        assert tally.last is not None
        assert (tally.counter, tally.turns) == (name, turns)
        assert tally.seconds == pytest.approx(seconds, abs=2e-3)
        assert tally.last - minutes * 60.0 == pytest.approx(last, abs=2e-3)
