"""Counts from one run of the program to the next, through kills: real processes, a real log."""

from __future__ import annotations

import random
import re
import time
from pathlib import Path

from test_taking_up import Program, facts, has_entries, seconds_to

AIRCRAFT = """\
callout: 1
aircraft:
  name: Test rig
  revision: "1"
  written_by: nobody, invented for this test
  limits_from: {handbook: "none, invented"}
counters:
  start-attempts:
    seconds: {from: start/starter, to: start/released}
    most: 2
    rest: 20 min
lists:
  start:
    items:
      - {id: starter, call: starter, answer: engaged}
      - {id: released, call: starter again, answer: released}
  after: {items: [{id: cover, call: cover, answer: fitted}]}
"""


def rig(folder: Path) -> Path:
    file = folder / "rig.yaml"
    file.write_text(AIRCRAFT, encoding="utf-8")
    return file


def one_attempt(file: Path, logbook: Path) -> None:
    """A new session in which the starter is engaged and released, then SIGKILL."""
    program = Program(file, logbook, "--new")
    program.read_until("Starter?")
    program.type("engaged")
    program.read_until("Starter again?")
    program.type("released")
    program.read_until("Next list: after.")
    program.kill()


def test_attempts_of_past_sessions_keep_the_list_from_opening(tmp_path: Path):
    file, logbook = rig(tmp_path), tmp_path / "log.db"
    one_attempt(file, logbook)
    one_attempt(file, logbook)
    third = Program(file, logbook, "--new")
    told = third.read_until("Say open and the name of a list, or override.")

    assert re.search("Start attempts: two of two. Rest (two zero minutes|one nine minutes)", told)
    third.type("what counts")
    assert "Start attempts: two of two." in third.read_until("two of two.")
    third.type("override")
    third.type("not working")
    third.type("confirm override")
    third.read_until("Starter?")
    third.kill()
    assert ["start/starter", "start/starter"] == facts(logbook, "counted")
    assert ["start"] == facts(logbook, "overridden")


def test_killed_at_random_moments_around_the_tick_it_is_counted_once(tmp_path: Path):
    """Before the tick it is not there, after it it is, and never twice."""
    file, logbook = rig(tmp_path), tmp_path / "log.db"
    rng, takes = random.Random(9), seconds_to("Starter?", file, tmp_path / "first.db")
    for _ in range(6):
        program = Program(file, logbook)
        program.type("resume")
        if "start/starter" not in facts_of(logbook, "ticked"):
            program.type("engaged")
        time.sleep(rng.uniform(0.3, 2.0) * takes)
        program.kill()
        ticked = facts_of(logbook, "ticked").count("start/starter")
        assert ticked == facts_of(logbook, "counted").count("start/starter") <= 1


def facts_of(logbook: Path, name: str) -> list[str]:
    """As `facts`; none while there is no log yet."""
    return facts(logbook, name) if has_entries(logbook) else []
