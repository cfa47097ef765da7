"""What is not read again must say the same as if it were.

The reference is `past` itself with nothing trusted, which reads every fact there is.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from logbook_history_rig import PLANE, at, wrote

from callout.checklist.content import counting
from callout.engine.events import Clock, SessionOpened
from callout.engine.rundown import FACT
from callout.engine.rundown_compare import LATEST
from callout.logbook.checkpoint import trusted
from callout.logbook.history import Past, past
from callout.logbook.store import Logbook

FILE = "abc"


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.open(tmp_path / "log.db") as book:
        yield book


def opened(logbook: Logbook, minutes: float, file: str = FILE, wall: float | None = None) -> int:
    """A session that begins with what past ones counted."""
    now = at(minutes, boot=f"boot {minutes}", wall=wall)
    session = logbook.begin(PLANE.name, "1", "invented.yaml", file, now)
    told = past(logbook, PLANE, session, now)
    event = SessionOpened((), told.tallies, told.run_downs, told.clock_set_back)
    logbook.append(session, event, [], now)
    return session


def both(logbook: Logbook, minutes: float) -> tuple[Past, Past]:
    """With what a session of the same file said, and with nothing trusted."""
    now = at(minutes, boot="now")
    return past(logbook, PLANE, 0, now, FILE), past(logbook, PLANE, 0, now, "")


def same(one: Past, other: Past) -> None:
    assert other.run_downs == one.run_downs
    assert other.clock_set_back == one.clock_set_back
    assert [t[0] for t in other.tallies] == [t[0] for t in one.tallies]
    for ours, theirs in zip(one.tallies, other.tallies, strict=True):
        assert pytest.approx(theirs[1:], abs=2e-3) == ours[1:]


@pytest.mark.parametrize("seed", range(12))
def test_whatever_was_counted_it_is_the_same_as_reading_everything(logbook: Logbook, seed: int):
    dice, minutes = random.Random(seed), 0.0
    for _ in range(12):
        minutes += dice.choice((15.0, 40.0, 600.0))
        file = FILE if dice.random() < 0.8 else "another state of the file"
        session = opened(logbook, minutes, file)
        for _ in range(dice.randrange(6)):
            minutes += dice.choice((0.4, 2.0, 8.0))
            fact = dice.choice(("counted", "count ended", "count set back", "count taken back"))
            counter = dice.choice(("attempts", "charge"))
            wrote(logbook, session, at(minutes, boot=f"b {seed}"), fact, counter=counter)
        if dice.random() < 0.5:
            wrote(logbook, session, at(minutes, boot=f"b {seed}"), FACT, by="gauge", seconds="39.5")
        if dice.random() < 0.7:
            logbook.finish(session, "ended", at(minutes + 1, boot=f"b {seed}"))
        same(*both(logbook, minutes + 5.0))


def test_the_latest_session_of_the_same_file_is_trusted(logbook: Logbook):
    first, second, _ = opened(logbook, 0), opened(logbook, 100), opened(logbook, 200, "changed")

    known = trusted(logbook, PLANE.name, 0, FILE)

    assert known is not None
    assert second == known.session
    assert first < second


def test_an_earlier_session_that_was_taken_up_later_is_read(logbook: Logbook):
    first = opened(logbook, 0)
    opened(logbook, 100)
    wrote(logbook, first, at(150), "counted", counter="charge")

    assert trusted(logbook, PLANE.name, 0, FILE) is None
    assert 1.0 == both(logbook, 200)[0].tallies[0][1]


def test_a_session_that_began_by_a_wrong_clock_is_not_trusted(logbook: Logbook):
    opened(logbook, 100)
    opened(logbook, 200, wall=50)  # the clock was set back

    assert trusted(logbook, PLANE.name, 0, FILE) is None


def test_without_a_fingerprint_and_in_another_file_nothing_is_trusted(logbook: Logbook):
    opened(logbook, 0)

    assert trusted(logbook, PLANE.name, 0, "") is None
    assert trusted(logbook, PLANE.name, 0, "another") is None
    assert trusted(logbook, "Another helicopter", 0, FILE) is None


def test_the_session_that_is_opened_names_its_file_itself(logbook: Logbook):
    first = opened(logbook, 0)
    wrote(logbook, first, at(1), "counted", counter="charge")
    second = logbook.begin(PLANE.name, "1", "invented.yaml", FILE, at(100))

    known = trusted(logbook, PLANE.name, second, None)

    assert known is not None
    assert first == known.session
    assert 1.0 == past(logbook, PLANE, second, at(100)).tallies[0][1]


def test_a_session_of_another_file_that_counts_in_the_same_way_is_trusted(logbook: Logbook):
    """A word of a list was changed: what was counted is the same."""
    first = opened(logbook, 0, "old")
    wrote(logbook, first, at(1), "counted", counter="charge")
    now = at(100)
    second = logbook.begin(PLANE.name, "2", "invented.yaml", "new", now)
    told = past(logbook, PLANE, second, now)
    logbook.append(second, SessionOpened((), told.tallies, counting=counting(PLANE)), [], now)
    wrote(logbook, second, at(101), "counted", counter="charge")
    charge = replace(PLANE.counters[1], most=Decimal(9))
    other = replace(PLANE, counters=(PLANE.counters[0], charge))

    known = trusted(logbook, PLANE.name, 0, "newest", counting(PLANE))
    assert known is not None
    assert second == known.session
    assert trusted(logbook, PLANE.name, 0, "newest", counting(other)) is None
    same(past(logbook, PLANE, 0, at(200), "newest"), past(logbook, PLANE, 0, at(200), ""))
    assert 2.0 == past(logbook, PLANE, 0, at(200), "newest").tallies[0][1]


def test_run_downs_that_nobody_looks_at_are_not_carried_on(logbook: Logbook):
    session = opened(logbook, 0)
    for n in range(LATEST + 7):
        wrote(logbook, session, at(1 + n), FACT, by="gauge", seconds=f"{n}")
    wrote(logbook, session, at(60), FACT, by="words", seconds="50")

    kept = past(logbook, PLANE, 0, at(100)).run_downs

    assert [float(n) for n in range(7, LATEST + 7)] == [s for how, s in kept if how == "gauge"]
    assert ("words", 50.0) == kept[-1]


def test_a_counter_s_limits_are_those_of_now(logbook: Logbook):
    """Another rest in the file is another file: everything is read by the new figures."""
    session = opened(logbook, 0)
    wrote(logbook, session, at(1), "counted", counter="attempts")
    wrote(logbook, session, at(1.5), "count ended", counter="attempts")
    logbook.append(session, Clock(), [], at(2))
    counters = tuple(replace(one, rest=None) for one in PLANE.counters)
    changed = replace(PLANE, counters=counters)

    assert 1.0 == past(logbook, changed, 0, at(4000), "changed").tallies[0][1]
