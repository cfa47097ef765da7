"""What has changed is found when a session ends, and said once when the next one begins."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from callout.checklist.load import load_all
from callout.cli.main import main
from callout.engine.effects import Record, Say
from callout.engine.events import Clock, SessionOpened
from callout.engine.session import Session
from callout.logbook.stamp import RECORDING, Stamp
from callout.logbook.store import Logbook
from callout.running.opened import session_opened
from callout.running.trend_remarks import find, to_tell

EXAMPLE = load_all(Path(__file__).parents[2] / "checklists" / "reedlark.yaml")
STEADY = [38.0, 39.0, 38.5, 39.5, 38.2, 38.8, 39.2, 38.6, 39.1, 38.9, 38.4, 39.3]
SHORT = [31.0, 31.2, 30.8, 31.1, 30.9]  # 38.85 was the median before: 20.2 % more
SAYS = "run-down by gauge is two zero percent shorter than usual"


def stamp(day: int, now: float, boot: str = "") -> Stamp:
    return Stamp(now, f"2031-05-{day:02d}T09:00:00Z", now, boot or f"day {day}")


def flown(logbook: Logbook, day: int, down: float, boot: str = "") -> tuple[str, ...]:
    """A session with a run-down; what it found when it ended."""
    at = stamp(day, 600.0, boot)
    number = begun(logbook, day, boot)
    fact = Record("run-down", "shutdown/fuel-lever", (("by", "gauge"), ("seconds", f"{down}")))
    logbook.append(number, Clock(), [fact], at)
    found = find(logbook, EXAMPLE.aircraft, number, at)
    logbook.finish(number, "ended", at)
    return found


def begun(logbook: Logbook, day: int, boot: str = "") -> int:
    name, print_ = EXAMPLE.aircraft.name, EXAMPLE.fingerprint
    return logbook.begin(name, "1", "reedlark.yaml", print_, stamp(day, 0.0, boot))


@pytest.fixture
def logbook(tmp_path: Path):
    with Logbook.open(tmp_path / "log.db") as book:
        yield book


def test_the_session_that_shows_a_change_first_finds_it_and_no_other(logbook: Logbook):
    found = [flown(logbook, day, down) for day, down in enumerate([*STEADY, *SHORT, 31.0], 1)]

    showed = [day for day, one in enumerate(found, 1) if one]
    assert 1 == len(showed)
    assert (SAYS,) == found[showed[0] - 1]


def opened(logbook: Logbook, day: int) -> tuple[SessionOpened, list[str]]:
    """The next session's first event, carried out; what is said in its first step."""
    number = begun(logbook, day)
    first = session_opened((), EXAMPLE.aircraft, logbook, number, stamp(day, 0.0))
    effects = Session(EXAMPLE.aircraft).handle(first, 0.0)
    facts = [one for one in effects if isinstance(one, Record)]
    logbook.append(number, first, facts, stamp(day, 0.0))
    return first, [one.text for one in effects if isinstance(one, Say)]


def test_it_is_said_when_the_next_session_begins_and_not_again(logbook: Logbook):
    for day, down in enumerate([*STEADY, *SHORT], 1):
        flown(logbook, day, down)
    first, said = opened(logbook, 20)
    again, said_again = opened(logbook, 21)

    sentence = SAYS[0].upper() + SAYS[1:] + "."
    assert ((SAYS,), ()) == (first.trends, again.trends)
    assert (1, 0) == (said.count(sentence), said_again.count(sentence))


def test_a_session_killed_before_its_first_step_has_told_nothing(logbook: Logbook):
    for day, down in enumerate([*STEADY, *SHORT], 1):
        flown(logbook, day, down)
    begun(logbook, 20)

    assert (SAYS,) == to_tell(logbook, EXAMPLE.aircraft.name, begun(logbook, 21))


def test_nothing_is_found_in_sessions_from_a_recording(logbook: Logbook):
    for day, down in enumerate(STEADY, 1):
        flown(logbook, day, down)
    found = [flown(logbook, day, down, RECORDING) for day, down in enumerate(SHORT, 20)]

    assert [()] * 5 == found
    assert () == to_tell(logbook, EXAMPLE.aircraft.name, begun(logbook, 28))


def test_a_whole_session_finds_and_the_next_whole_session_says_it(tmp_path: Path):
    path = tmp_path / "log.db"
    with Logbook.open(path) as book:
        for day, down in enumerate([*STEADY, *SHORT[:2]], 1):
            flown(book, day, down)
        number = begun(book, 15)
        fact = Record("run-down", "shutdown/fuel-lever", (("by", "gauge"), ("seconds", "31.0")))
        book.append(number, Clock(), [fact], stamp(15, 600.0))
        assert () == to_tell(book, EXAMPLE.aircraft.name, number)
        found = find(book, EXAMPLE.aircraft, number, stamp(15, 600.0))
        book.finish(number, "ended", stamp(15, 600.0))
    args = ["run", str(EXAMPLE.files[0]), "walk-round", "--ear", "keys", "--speak", "none"]
    result = CliRunner().invoke(main, [*args, "--logbook", str(path)], input="")

    assert "Traceback" not in result.output
    assert (SAYS[0].upper() + SAYS[1:] in result.output) is bool(found)
