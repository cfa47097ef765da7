"""`callout doctor` as a person runs it, with sound devices and without any."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from virtual_sound import HEADSET, MICROPHONE, SoundServer, room

from callout.running import surroundings
from callout.running.findings import Part
from callout.running.install_lines import (
    PORTAUDIO,
    SOUND_SERVER,
    SYSTEM_VOICE,
    pip_line,
    system_line,
)
from callout.running.trying import LIMITS, Trying

CALLOUT = str(Path(sys.executable).parent / "callout")


NO_CARD = """
</usr/share/alsa/alsa.conf>
pcm.!hw { type hw card 99 }
pcm.!default { type hw card 99 }
pcm.!pulse { type hw card 99 }
"""
"""ALSA's own configuration, with every way to a device leading to a card that no machine has."""


def doctor(environment: dict[str, str], *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [CALLOUT, "doctor", *words],
        env=environment,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )


@pytest.fixture
def bare(tmp_path: Path) -> dict[str, str]:
    """A machine without sound: ALSA knows no device and no sound server is to be found."""
    nothing = tmp_path / "asound.conf"
    nothing.write_text(NO_CARD, encoding="utf-8")
    home = tmp_path / "home"
    home.mkdir()
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("PULSE", "XDG"))}
    return kept | {
        "ALSA_CONFIG_PATH": str(nothing),
        "HOME": str(home),
        "CALLOUT_MODELS": str(tmp_path / "models"),
    }


def of(found: dict[str, Any], part: str) -> list[dict[str, Any]]:
    return [finding for finding in found["findings"] if finding["part"] == part]


def test_without_sound_a_session_can_still_be_held(bare: dict[str, str], tmp_path: Path) -> None:
    """No microphone and no loudspeaker: both said, and every ear and voice tried all the same."""
    ran = doctor(bare, "--json", "--need", "microphone")
    found = json.loads(ran.stdout)
    assert 1 == ran.returncode, "the microphone was needed"
    assert "" == ran.stderr
    assert found["session"] is True
    assert {"microphone": False, "loudspeaker": False, "voice": True, "vosk": False} == found["has"]
    assert ["No microphone is connected."] == [one["says"] for one in of(found, "microphone")]
    ears = {one["name"]: one for one in of(found, "ear")}
    assert ears["pocketsphinx"]["works"]
    assert "callout model fetch vosk-small-en-us" == ears["vosk"]["get"]
    voices = {one["name"]: one for one in of(found, "voice")}
    assert ["hibari", "espeak", "system"] == list(voices)
    # espeakng-loader is a dependency, so this voice is always here; "Ready." takes a moment
    assert 0.2 < voices["espeak"]["measured"]["seconds"] < 2
    assert sys.version.split()[0] == found["versions"]["python"]
    assert [] == list((tmp_path / "home").rglob("logbook.db*")), "looking makes no logbook"


def test_quiet_prints_nothing_and_its_status_tells(bare: dict[str, str], tmp_path: Path) -> None:
    broken = tmp_path / "letter.db"
    broken.write_text("Dear logbook,", encoding="utf-8")
    for words, status in (
        ((), 0),
        (("--need", "microphone"), 1),
        (("--need", "vosk"), 1),
        (("--logbook", str(broken)), 1),
    ):
        ran = doctor(bare, "--quiet", *words)
        assert (status, "", "") == (ran.returncode, ran.stdout, ran.stderr), words


def test_a_sound_system_that_ends_its_process_is_told(bare: dict[str, str], tmp_path: Path) -> None:
    """PortAudio 19.6 aborts when ALSA's configuration is empty."""
    (tmp_path / "asound.conf").write_text("", encoding="utf-8")
    found = json.loads(doctor(bare, "--json").stdout)
    assert ["The program that tried it crashed (status -6)."] == [
        one["says"] for one in of(found, "loudspeaker")
    ]
    assert found["session"] is True


def test_an_unknown_need_is_refused_in_a_sentence(bare: dict[str, str]) -> None:
    ran = doctor(bare, "--need", "pedal")
    assert 2 == ran.returncode
    assert "'pedal' is not one of 'microphone', 'loudspeaker', 'voice', 'vosk'" in ran.stderr


@pytest.mark.devices
def test_a_microphone_that_hears_a_room_and_one_that_hears_nothing() -> None:
    """Heard at the level it was played at; digital silence is no microphone."""
    with SoundServer(MICROPHONE, HEADSET) as server:
        environment = server.environment | {
            "PULSE_SOURCE": "hangar_mic.monitor",
            "PULSE_SINK": "headset",
        }
        silent = doctor(environment, "--quiet", "--need", "microphone")
        assert (1, "", "") == (silent.returncode, silent.stdout, silent.stderr)
        server.play(room(240, level=0.01))
        heard = doctor(environment, "--quiet", "--need", "microphone", "--need", "loudspeaker")
        assert (0, "", "") == (heard.returncode, heard.stdout, heard.stderr)
        shown = doctor(environment).stdout
    # White noise with a deviation of 0.01 has 20 log 0.01 = -40 dBFS.
    assert "works   microphone:pulse: Gives sound at 16000 Hz, level -40 dBFS." in shown
    assert "works   loudspeaker:pulse: Takes sound at" in shown
    assert shown.endswith("A session can be held.\n")


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ("time.sleep(600)", "It did not answer within 1 seconds."),
        ("subprocess.Popen(['sleep', '600']).wait()", "It did not answer within 1 seconds."),
        ("os.abort()", "The program that tried it crashed (status -6)."),
        ("os.write(2, b'ALSA lib pcm.c'); print('[')", "The program that tried it crashed"),
    ],
)
def test_a_part_that_hangs_crashes_or_prints_is_ended_and_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str],
    body: str, says: str,
) -> None:  # fmt: skip
    (tmp_path / "bad_part.py").write_text(f"import os, subprocess, time\n{body}\n")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    # One that crashes is given time to do so: on a busy machine Python alone takes a second.
    monkeypatch.setitem(LIMITS, "microphone", 1.0 if "600" in body else 200.0)
    told = Trying(altogether=250.0, module="bad_part")("microphone")
    assert told["wrong"].startswith(says)
    assert ("", "") == tuple(capfd.readouterr())


def test_when_the_time_is_spent_nothing_more_is_tried() -> None:
    assert {"wrong": "Not tried: the parts before it took too long."} == Trying(0)(
        "voice", "espeak"
    )


@pytest.mark.parametrize(
    ("platform", "installer", "what", "line"),
    [
        ("linux", "apt", PORTAUDIO, "sudo apt install libportaudio2"),
        ("linux", "dnf", PORTAUDIO, "sudo dnf install portaudio"),
        ("linux", "", SYSTEM_VOICE, "sudo apt install espeak-ng"),
        ("linux", "apt", SOUND_SERVER, "sudo apt install libasound2-plugins"),
        ("darwin", "brew", PORTAUDIO, "brew install portaudio"),
        ("darwin", "brew", SYSTEM_VOICE, ""),
        ("win32", "", PORTAUDIO, pip_line("sounddevice", again=True)),
    ],
)
def test_the_line_that_installs_it(platform: str, installer: str, what: str, line: str) -> None:
    assert line == system_line(what, platform, {installer: "/usr/bin"}.get)


def test_pip_is_that_of_the_python_that_runs() -> None:
    """`pip install` alone may belong to another Python than the one callout runs in."""
    line = pip_line("hibari-tts")
    ran = subprocess.run(
        line.replace("install hibari-tts", "--version"),
        shell=True, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert str(Path(sys.prefix).resolve()) in ran.stdout


def test_a_logbook_is_told_whole_broken_or_new(tmp_path: Path) -> None:
    new = surroundings.logbook(tmp_path / "far" / "away.db")
    assert (True, "A new one: it is made by the first session.") == (new.works, new.says)
    assert not (tmp_path / "far").exists()
    letter = tmp_path / "letter.db"
    letter.write_text("Dear logbook,", encoding="utf-8")
    told = surroundings.logbook(letter)
    assert not told.works
    assert "is not a callout logbook" in told.says


def test_prepared_speech_is_counted(tmp_path: Path) -> None:
    (tmp_path / "a.clip").write_bytes(bytes(1_500_000))
    told = surroundings.clips(tmp_path)
    assert (Part.CLIPS, True, "1 sentences, 1.5 MB.") == (told.part, told.works, told.says)
