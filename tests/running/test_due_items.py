"""`callout due`, as a person uses it, on a real logbook; and the next session that knows of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from callout.checklist.load import load_all
from callout.cli.main import main
from callout.logbook.counted import counted
from callout.logbook.store import Logbook
from callout.running import clock
from callout.running.clock import RealClock
from callout.running.opened import session_opened

FILE = """
callout: 1
aircraft:
  name: Test rig
  revision: "1"
  written_by: nobody
  limits_from: {handbook: invented, issue: "1", date: 2031-01-01}
counters:
  cycles: {call: engine cycles, counts: start/starter}
  hours: {call: engine time, seconds: {from: start/starter, to: start/released}}
due:
  oil: {call: oil change, counter: hours, every: 50 h, warn: 5 h, said_at: start}
  check: {counter: cycles, every: 30, said_at: start}
  bottle: {date: 2020-01-01, months: 12, warn_days: 30, said_at: start}
  paper: {date: 2019-01-01, said_at: start}
lists:
  start: {items: [{call: starter, answer: on}, {call: released, answer: off}]}
"""
BY = ["--who", "the owner", "--how", "paper log"]


TODAY = date.today()


class Desk:
    def __init__(self, folder: Path) -> None:
        self.file, self.book = folder / "rig.yaml", folder / "log.db"
        self.file.write_text(FILE)

    def due(self, what: str, *words: str, good: bool = True) -> str:
        args = ["due", what, str(self.file), *words, "--logbook", str(self.book)]
        result = CliRunner().invoke(main, args)
        assert good is (result.exit_code == 0), result.output
        assert "Traceback" not in result.output
        return result.output

    def told(self):
        loaded, now = load_all(self.file), RealClock().stamp(0.0)
        with Logbook.open(self.book) as logbook:
            number = logbook.begin("Test rig", "1", str(self.file), loaded.fingerprint, now)
            return session_opened((), loaded.aircraft, logbook, number, now)


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    """On a machine on which it stays noon: at midnight a day is soon another one."""
    noon = datetime.combine(TODAY, time(12)).astimezone(UTC)
    monkeypatch.setattr(clock, "MACHINE", replace(clock.MACHINE, wall=lambda: noon))
    return Desk(tmp_path)


def test_an_engine_that_ran_before_is_entered_and_shown(desk: Desk):
    desk.due("enter", "hours", "812.5 h", *BY)
    desk.due("enter", "cycles", "640", *BY)
    said = desk.due("enter", "oil", "46 h", "--last-done", "2019-07-01", *BY)

    assert "oil change: 46 h, by the owner, paper log.\n" == said
    shown = desk.due("show")
    assert "engine cycles: 640  (cycles)" in shown
    assert "engine time: 0, 812.5 h  (hours)" in shown
    assert "soon     oil change: 4.0 h engine time left, last done 2019-07-01  (oil)" in shown
    assert "OVERDUE  bottle" in shown


def test_the_next_session_begins_with_it(desk: Desk):
    desk.due("enter", "hours", "812.5 h", *BY)
    desk.due("enter", "oil", "46 h", *BY)
    desk.due("done", "bottle", *BY)
    first = desk.told()

    assert {("hours", 0.0, 812.5 * 3600.0)} == {one[:3] for one in first.tallies}
    assert {"oil": (0.0, 46 * 3600.0, 0), "bottle": (0.0, 0.0, TODAY.toordinal())} == {
        one[0]: one[1:] for one in first.dues
    }


def test_done_sets_it_back_and_its_date_goes_on_from_that_day(desk: Desk):
    day = TODAY - timedelta(days=10)
    said = desk.due("done", "bottle", "--date", day.isoformat(), *BY)

    assert f"bottle: done on {day.isoformat()}, by the owner, paper log.\n" == said
    assert f"days left, last done {day.isoformat()}  (bottle)" in desk.due("show")
    desk.due("done", "paper", *BY)
    assert f"paper: last done {TODAY}  (paper)" in desk.due("show")


def test_who_and_how_stand_in_the_logbook(desk: Desk):
    desk.due("done", "oil", *BY)
    with Logbook.read(desk.book) as logbook:
        (entry,) = counted(logbook, "Test rig")

    wanted = {"counter": "due/oil", "by": "the owner", "how": "paper log"}
    assert ("count set back", {**wanted, "date": str(TODAY)}) == (
        entry.name,
        entry.data,
    )


@pytest.mark.parametrize(
    ("what", "words", "wanted"),
    [
        ("done", ("oill", *BY), "no due item 'oill' in this file; did you mean \"oil\"? There are"),
        ("done", ("hours", *BY), "no due item 'hours'"),
        ("enter", ("oil", "46", *BY), "oil does not go by '46'; expected hours"),
        ("enter", ("check", "3 h", *BY), "check does not go by '3 h'; expected a count"),
        ("enter", ("check", "-3", *BY), "No such option"),
        ("enter", ("check", "many", *BY), 'check: found "many"; expected'),
        ("enter", ("paper", "3", *BY), "'paper' goes by the calendar alone"),
        ("done", ("oil", "--who", " ", "--how", "x"), "--who is empty"),
        ("done", ("oil", "--who", "x"), "Missing option '--how'"),
        ("done", ("oil", "--date", "2999-01-01", *BY), "lies in the future"),
    ],
)
def test_what_cannot_be_written_is_a_sentence_and_writes_nothing(
    desk: Desk, what: str, words: tuple[str, ...], wanted: str
):
    assert wanted in desk.due(what, *words, good=False)
    if desk.book.exists():
        with Logbook.read(desk.book) as logbook:
            assert [] == logbook.sessions()
