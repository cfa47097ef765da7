"""`callout new`: from a few answers to a file that is right and reviewed clean."""

from __future__ import annotations

import subprocess
import sys
from itertools import product

import pytest
from click.testing import CliRunner

from callout.checklist.load import load
from callout.checklist.model import Who
from callout.cli.main import main
from callout.running.reviewing import review_file
from callout.writing.interview import QUESTIONS, Owner, file_text

EVERY = list(product(*([way.key for way in one.ways] for one in QUESTIONS)))
KEYS = [one.key for one in QUESTIONS]


@pytest.mark.parametrize("ways", EVERY, ids="-".join)
def test_every_machine_is_right_and_reviewed_clean(ways, tmp_path):
    file = tmp_path / "mine.yaml"
    text = file_text(dict(zip(KEYS, ways, strict=True)), Owner(), "mine.yaml")
    file.write_text(text, encoding="utf-8")

    assert () == review_file(file)
    assert "?" not in text.replace("queried", "")


@pytest.mark.parametrize("ways", EVERY, ids="-".join)
def test_no_limit_is_invented(ways, tmp_path):
    """Numbers come from the handbook alone: the file has their place, and none of them."""
    file = tmp_path / "mine.yaml"
    text = file_text(dict(zip(KEYS, ways, strict=True)), Owner(), "mine.yaml")
    file.write_text(text, encoding="utf-8")

    assert [] == [gauge.id for gauge in load(file).gauges if gauge.limits]
    assert "HANDBOOK" in text


def test_one_alone_is_asked_for_no_helper(tmp_path):
    for people, helpers in (("alone", set()), ("two", {Who.HELPER})):
        ways = {"engine": "turbine", "turns": "rotor", "people": people, "power": "ground"}
        file = tmp_path / f"{people}.yaml"
        file.write_text(file_text(ways, Owner(), "mine.yaml"), encoding="utf-8")
        who = {item.who for one in load(file).lists for item in one.items()}

        assert helpers | {Who.PILOT} == who


def test_asked_at_the_keyboard(tmp_path):
    file = tmp_path / "mine.yaml"
    typed = '2\n2\n1\n1\nBlue: "the" fly\nAnna # one\nManual {3}\n2\n'
    shown = CliRunner().invoke(main, ["new", str(file)], input=typed)
    made = load(file)

    assert 0 == shown.exit_code
    assert f"callout review {file}" in shown.output
    assert ('Blue: "the" fly', "Anna # one", "Manual {3}", "2") == (
        made.name,
        made.written_by,
        made.limits_from.handbook,
        made.limits_from.issue,
    )
    assert "mixture" in {item.call for item in made.list("shutdown").items()}


def test_asked_by_callout_itself(tmp_path):
    """The interview is a list that is run; here the words are typed instead of said."""
    file = tmp_path / "mine.yaml"
    command = [sys.executable, "-m", "callout", "new", str(file), "--spoken", "--ear", "keys"]
    command += ["--listen", "none", "--speak", "none", "--name", "Blue fly"]
    typed = "turbine engine\nmain rotor\ntwo people\nground power\n"
    done = subprocess.run(command, input=typed, capture_output=True, encoding="utf-8", check=True)

    assert "Engine: turbine engine, or piston engine?" in done.stdout
    assert "Blue fly" == load(file).name
    assert "ground-power-plug" in {item.id for item in load(file).list("before-start").items()}


def test_an_interview_that_was_left_writes_nothing(tmp_path):
    file = tmp_path / "mine.yaml"
    command = [sys.executable, "-m", "callout", "new", str(file), "--spoken", "--ear", "keys"]
    command += ["--listen", "none", "--speak", "none"]
    typed = "turbine engine\n"
    done = subprocess.run(command, input=typed, capture_output=True, encoding="utf-8", check=False)

    assert 2 == done.returncode
    assert "Not answered: what it turns, people, power for the start." in done.stderr
    assert not file.exists()


def test_a_file_that_is_there_is_left_alone(tmp_path):
    file = tmp_path / "mine.yaml"
    file.write_text("mine", encoding="utf-8")
    shown = CliRunner().invoke(main, ["new", str(file)])

    assert 2 == shown.exit_code
    assert "is there already" in shown.output
    assert "mine" == file.read_text(encoding="utf-8")
