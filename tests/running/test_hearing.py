"""The ear of a session, its pilot, and answers that it could mistake for one another."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from callout.cli.check import command as check
from callout.ear.built_in.ear import BuiltInEar
from callout.ear.enrolment import Measured, Profile, save
from callout.running.hearing import ear_of
from callout.running.problems import CannotRunError
from callout.running.settings import RunSettings

RIG = """\
callout: 1
aircraft:
  name: Test rig
  revision: "1"
  written_by: nobody, invented for this test
  limits_from: {handbook: "none, invented"}
lists:
  before-start:
    title: before start
    items:
      - {call: landing light, answer: %s, wrong_answers: [%s]}
"""


def settings(folder: Path, ear: str = "built-in", pilot: str = "ada") -> RunSettings:
    return RunSettings(
        Path("rig.yaml"), folder / "log.db", ear=ear, pilot=pilot, profiles=folder / "profiles"
    )


def test_an_enrolled_pilot_is_heard_by_his_profile(tmp_path: Path):
    (tmp_path / "profiles").mkdir()
    measured = Measured(10, 9, 9, ())
    save(Profile("ada", None, 0.75, None, measured, measured), tmp_path / "profiles" / "ada.json")

    ear = ear_of(settings(tmp_path))

    assert isinstance(ear, BuiltInEar)
    assert 0.75 == ear.confidence.offset


def test_a_pilot_who_is_not_enrolled_is_told_how(tmp_path: Path):
    with pytest.raises(CannotRunError, match="ada is not enrolled; first: callout enrol ada"):
        ear_of(settings(tmp_path))


def test_a_profile_that_cannot_be_read_is_named(tmp_path: Path):
    (tmp_path / "profiles").mkdir()
    (tmp_path / "profiles" / "ada.json").write_text("{", encoding="utf-8")
    with pytest.raises(CannotRunError, match=r"ada\.json cannot be used"):
        ear_of(settings(tmp_path))


def test_other_ears_know_no_pilots(tmp_path: Path):
    with pytest.raises(CannotRunError, match="Only the built-in ear knows pilots"):
        ear_of(settings(tmp_path, ear="pocketsphinx"))


@pytest.mark.parametrize(
    ("answer", "wrong", "told"), [("light off", "lights off", True), ("dark", "burning", False)]
)
def test_check_tells_of_answers_that_sound_alike(
    tmp_path: Path, answer: str, wrong: str, told: bool
):
    file = tmp_path / "rig.yaml"
    file.write_text(RIG % (answer, wrong), encoding="utf-8")

    result = CliRunner().invoke(check, [str(file)])

    assert 0 == result.exit_code
    assert told == ("sound nearly alike" in result.output)
