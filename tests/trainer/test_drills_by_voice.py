"""Drills by voice through the built-in ear, and the recording of it through the command."""

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner
from practice_rig import HELPER, PILOT, REEDLARK, Lines, drills, kept_voice

from callout.benches.pilot import Pilot
from callout.benches.train import practised, voice_of
from callout.benches.trainees import PERFECT, SILENT, Manner, SpeakingTrainee, Trainee
from callout.cli.main import main
from callout.ear.choose import make_ear
from callout.running.mouth import Mouth
from callout.running.outputs import Nowhere
from callout.running.recording_sets import RATE
from callout.running.train import conduct
from callout.running.train_ears import PairedEar
from callout.trainer.session import DrillSession, Practice
from callout.trainer.store import PracticeBook


def test_a_perfect_trainee_scores_all_by_voice():
    pilot = Pilot(voice_of("hibari"))
    result = practised(drills()["hot-start"], Practice((PILOT,)), PERFECT, pilot)
    assert 100 == result.percent, [(one.wanted, one.outcome) for one in result.calls]


def test_a_trainee_who_is_not_understood_says_it_in_other_words_and_loses_nothing():
    loaded = drills()["residual-fire"]
    result = practised(loaded, Practice((HELPER,)), PERFECT, kept_voice("en-us+f2"))
    assert 100 == result.percent, [(one.wanted, one.outcome) for one in result.calls]


def test_a_silent_room_scores_nothing():
    result = practised(drills()["wind-shift"], Practice((HELPER,)), SILENT, Pilot(None))
    assert 0 == result.percent


def test_a_late_voice_loses_exactly_the_late_calls():
    late = frozenset({"closed"})
    pilot = Pilot(voice_of("hibari"))
    result = practised(drills()["hot-start"], Practice((PILOT,)), Manner(late=late), pilot)
    assert late == {one.line for one in result.calls if one.outcome != "in time"}


def test_a_wrong_voice_is_told_what_and_why():
    wrong = frozenset({"closed"})
    pilot = Pilot(voice_of("hibari"))
    result = practised(drills()["hot-start"], Practice((PILOT,)), Manner(wrong=wrong), pilot)
    (call,) = result.false_calls
    assert "starter released" == call.words
    assert "First the fuel" in call.because


def recorded(name, roles, voices, folder):
    """Two or one spoken tracks of a whole drill, as files, and its percent."""
    session = DrillSession(drills()[name].drill, drills()[name].aircraft.aircraft, Practice(roles))
    trainee = Trainee(session)
    sounds = [
        SpeakingTrainee(trainee, voice.say, place, who if len(voices) > 1 else None)
        for place, (voice, who) in enumerate(zip(voices, (PILOT, HELPER), strict=False))
    ]
    ears = [make_ear("built-in") for _ in sounds]
    tracks = [sound.blocks() for sound in sounds]
    ear = ears[0] if len(ears) == 1 else PairedEar(ears[0], ears[1], tracks[1])
    mouth = Mouth(None, Nowhere(), lambda why: None)
    conduct(session, ear, tracks[0], Lines(), lambda result: None, mouth)
    files = []
    for place, sound in enumerate(sounds):
        files.append(folder / f"{place}.flac")
        soundfile.write(files[-1], np.concatenate(sound.track), RATE)
    return session.result, files


def trained(name, role, files, folder):
    """What the command writes down after going through these recordings."""
    book, page, pdf = folder / "book.db", folder / "debrief.html", folder / "debrief.pdf"
    listen = [word for file in files for word in ("--listen", str(file))]
    words = [
        "train", str(REEDLARK), "--role", role, "--drill", name, "--who", "robin",
        "--no-coach", "--day", "0", "--speak", "none", "--clock", "recording", *listen,
        "--book", str(book), "--debrief", str(page), "--pdf", str(pdf),
    ]  # fmt: skip
    done = CliRunner().invoke(main, words, catch_exceptions=False)
    assert 0 == done.exit_code, done.output
    assert f"Debrief: {drills()[name].drill.title}" in page.read_text(encoding="utf-8")
    assert pdf.read_bytes().startswith(b"%PDF")
    (entry,) = PracticeBook(book).entries("robin", "Reedlark")
    return entry


def test_the_command_goes_through_a_recording_and_writes_the_debrief(tmp_path):
    result, files = recorded("hot-start", (PILOT,), [Pilot(voice_of("hibari"))], tmp_path)
    assert 100 == result.percent
    assert 100 == trained("hot-start", "pilot", files, tmp_path).percent


@pytest.mark.timeout(900)  # 144 s were measured on a machine that was busy
def test_two_voices_at_two_microphones_train_together(tmp_path):
    name, voices = "spilled-fuel", [Pilot(voice_of("hibari")), kept_voice("en-us+m3")]
    result, files = recorded(name, (PILOT, HELPER), voices, tmp_path)
    assert 100 == result.percent
    entry = trained(name, "both", files, tmp_path)
    assert ("pilot, helper", 100) == (entry.roles, entry.percent)
    assert {"pilot", "helper"} <= {one["who"] for one in entry.result["timeline"]}
