"""The ear of a session, its pilot, and answers that it could mistake for one another."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from scipy.signal import butter, lfilter

from callout.audio_block import AudioBlock
from callout.checklist.load import load
from callout.cli.check import command as check
from callout.ear.built_in.ear import BuiltInEar
from callout.ear.built_in.grammar_machine import forget, kept_parts
from callout.ear.built_in.headset import Listening
from callout.ear.enrolment import Measured, Profile, save
from callout.running.hearing import Noticing, ear_of, get_ready
from callout.running.problems import CannotRunError
from callout.running.recording_sets import RATE, read_set
from callout.running.settings import RunSettings
from callout.words.phrases import Grammar, Phrase

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

    assert isinstance(ear, Noticing)
    assert isinstance(ear.ear, BuiltInEar)
    assert 0.75 == ear.ear.confidence.offset


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


WORDS = Path(__file__).parents[1] / "ear" / "recordings" / "words.json"


BAND = butter(4, [300, 3400], "bandpass", fs=RATE)


def words() -> np.ndarray:
    """Sixteen recorded words with half a second between them, on a faint hiss."""
    pause = np.zeros(RATE // 2, np.float32)
    parts = [part for clip in read_set(WORDS)[:16] for part in (clip.samples, pause)]
    sound = np.concatenate(parts)
    return sound + np.random.default_rng(3).normal(0, 3e-4, len(sound)).astype(np.float32)


def told_of(folder: Path, sound: np.ndarray) -> list[str]:
    """What is told while a pilot who enrolled with `words` is heard."""
    listening = Listening()
    listening.hear(words())
    measured = Measured(10, 9, 9, ())
    profile = Profile("ada", None, 0.0, listening.colour(), measured, measured)
    save(profile, folder / "profiles" / "ada.json")
    told: list[str] = []
    ear = ear_of(settings(folder), tell=told.append)
    ear.listen_for(Grammar(1, (Phrase("stop", "stop"), Phrase("go", "go"))))
    for begin in range(0, len(sound), 1600):
        ear.hear(AudioBlock(sound[begin : begin + 1600].astype(np.float32), RATE, begin / RATE))
    return told


def test_the_headset_enrolled_with_is_not_spoken_about(tmp_path: Path):
    assert [] == told_of(tmp_path, words())


def test_another_headset_than_the_one_enrolled_with_is_told_once(tmp_path: Path):
    """A telephone's band (300 to 3400 Hz, ITU-T G.712 from memory) is another headset."""
    told = told_of(tmp_path, lfilter(*BAND, words()))

    assert ["This does not sound like the headset ada was enrolled with."] == told


def test_an_aircraft_is_made_ready_before_its_items_are_asked(tmp_path: Path):
    """All its answers are compiled when the session begins, not when they are asked for."""
    file = tmp_path / "rig.yaml"
    file.write_text(RIG % ("dark", "burning"), encoding="utf-8")
    forget()

    get_ready(ear_of(settings(tmp_path, pilot="")), load(file)).join()

    phrases, _ = kept_parts()
    assert 2 <= phrases
