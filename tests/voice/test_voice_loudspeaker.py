"""A machine without sound is told in one sentence; sound itself is tested on virtual devices."""

import os
import subprocess
import sys

PROGRAM = """
from callout.voice.loudspeaker import Loudspeaker
from callout.voice.protocol import VoiceLost
try:
    Loudspeaker({words!r})
except VoiceLost as lost:
    print(lost)
"""


def outcome(words: str | None, **environment: str) -> str:
    """What it prints in a process that can reach no sound server."""
    ended = subprocess.run(
        [sys.executable, "-c", PROGRAM.format(words=words)],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
        env={**os.environ, "XDG_RUNTIME_DIR": "/nowhere", "PULSE_SERVER": "/nowhere"} | environment,
    )
    return ended.stdout


def test_a_device_that_is_not_there_is_named_with_those_that_are():
    said = outcome("no such headset")

    assert "no such headset" in said
    assert "The output devices here are: " in said


def test_a_machine_without_portaudio_is_told_how_to_install_it(tmp_path):
    """The import fails as sounddevice's does when the C library is missing."""
    (tmp_path / "sounddevice.py").write_text('raise OSError("PortAudio library not found")\n')

    assert (
        "There is no sound: the library PortAudio is missing; on Debian install it with: "
        "sudo apt install libportaudio2 (PortAudio library not found)\n"
    ) == outcome(None, PYTHONPATH=str(tmp_path))
