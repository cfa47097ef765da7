"""What of a file was never used, in a logbook and in days on paper; every example runs through."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from callout.checklist.load import load
from callout.checklist.model import ListKind
from callout.cli.main import main
from callout.writing.coverage import coverage
from callout.writing.flying import days

EXAMPLES = Path(__file__).parents[2] / "checklists"
NEW = ("light-piston", "gyroplane", "crew-stand")
TEXT = """callout: 1
aircraft: {name: Testbird, revision: "1", written_by: me, limits_from: {handbook: h}}
gauges:
  volts: {unit: V, range: 0 to 32, limits: {any: {never: {above: 30}}}}
lists:
  cabin:
    items:
      - {call: cabin door, answers: [latched, locked]}
      - {call: side, choose: {left: [left one], right: [right one]}}
      - {call: volts, read: volts}
  later:
    items: [{call: seat belt, answer: fastened}]
  stop-it:
    kind: abort
    items: [{call: throttle, answer: closed}]
"""


@pytest.mark.parametrize("name", NEW)
def test_every_list_of_a_new_machine_comes_to_its_completion_call(name):
    """Right words through the engine."""
    aircraft = load(EXAMPLES / f"{name}.yaml")
    done = {fact.about for day in days(aircraft) for fact in day if fact.fact == "list complete"}
    left = {one.id for one in aircraft.lists} - done

    assert set() == left


@pytest.mark.parametrize("name", NEW)
def test_nothing_of_a_new_machine_is_out_of_reach(name):
    aircraft = load(EXAMPLES / f"{name}.yaml")
    found = coverage(aircraft, [fact for day in days(aircraft) for fact in day])

    assert [] == [one for one in found.unused if one.kind == "items reached"]
    assert [] == [one for one in found.unused if one.kind == "answers used"]


@pytest.mark.parametrize("name", NEW)
def test_a_whole_day_is_run_by_typed_words(name, tmp_path):
    """As a user runs it: the first two lists, answered one line after the other."""
    file = EXAMPLES / f"{name}.yaml"
    aircraft = load(file)
    first = next(one for one in aircraft.lists if one.kind is ListKind.NORMAL)
    command = [sys.executable, "-m", "callout", "run", str(file), first.id, "--ear", "keys"]
    command += ["--listen", "none", "--speak", "none", "--logbook", str(tmp_path / "l.db")]
    typed = "\n".join([*_typed(first), "end session", ""])
    done = subprocess.run(command, input=typed, capture_output=True, encoding="utf-8", check=True)

    assert f"{first.title.capitalize()} checklist complete." in done.stdout


def _typed(checklist) -> list[str]:
    values = {"fuel-quantity": "four zero", "fuel-pressure": "five point zero"}
    return [
        item.task.answers[0] if hasattr(item.task, "answers") else values[item.task.gauge]
        for item in checklist.items()
    ]


def _run(tmp_path, *words: str):
    file, book = tmp_path / "testbird.yaml", tmp_path / "log.db"
    file.write_text(TEXT, encoding="utf-8")
    command = [sys.executable, "-m", "callout", "run", str(file), "--new", "--ear", "keys"]
    command += ["--listen", "none", "--speak", "none", "--logbook", str(book)]
    typed = "\n".join([*words, "end session", ""])
    subprocess.run(command, input=typed, capture_output=True, encoding="utf-8", check=True)
    shown = CliRunner().invoke(main, ["coverage", str(file), "--logbook", str(book), "--json"])
    return json.loads(shown.output)


def test_what_a_logbook_never_saw_is_told(tmp_path):
    found = _run(tmp_path, "latched", "left one", "two four")

    assert 1 == found["sessions"]
    assert {
        ("items reached", "later/seat-belt"),
        ("items reached", "stop-it/throttle"),
        ("branches taken", "cabin/side"),
        ("branches taken", "stop-it"),
        ("limits tested", "volts"),
        ("answers used", "cabin/cabin-door"),
        ("answers used", "later/seat-belt"),
        ("answers used", "stop-it/throttle"),
    } == {(one["kind"], one["where"]) for one in found["unused"]}
    assert {"items reached": [3, 5], "branches taken": [1, 3]}.items() <= found["counts"].items()


def test_a_limit_that_was_passed_was_tested(tmp_path):
    found = _run(tmp_path, "latched", "left one", "three one", "two four")

    assert [1, 1] == found["counts"]["limits tested"]
