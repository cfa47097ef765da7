"""A PulseAudio server of a test's own, with a sink whose monitor is a microphone.

Rule of this file: a real server, real clients; everything of it is gone
afterwards. Needs Debian's pulseaudio, pulseaudio-utils and libasound2-plugins.
"""

from __future__ import annotations

import os
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

MICROPHONE = "hangar_mic"

LONG = 60.0
"""Seconds for which something is waited for that surely comes: a busy machine may take long."""


@dataclass(frozen=True)
class Pulse:
    """The server: the environment that leads programs to it, and its process."""

    environment: dict[str, str]
    server: subprocess.Popen[bytes]

    def play(self, recording: Path) -> None:
        """Speak a WAV file into the microphone, to its end."""
        self._run("paplay", f"--device={MICROPHONE}", str(recording))

    def stop(self) -> None:
        """Pull the plug; nothing of it is left when this returns."""
        self._run("pactl", "exit")
        self.server.wait(LONG)

    def _run(self, *command: str) -> None:
        subprocess.run(command, env=self.environment, check=True, capture_output=True, timeout=LONG)


@contextmanager
def pulse(folder: Path) -> Iterator[Pulse]:
    """Start a server with its socket in the folder; stop it if it still runs."""
    folder.chmod(0o700)
    environment = {**os.environ, "XDG_RUNTIME_DIR": str(folder), "HOME": str(folder)}
    sink = f"module-null-sink sink_name={MICROPHONE} rate=16000 channels=1"
    command = ["pulseaudio", "-n", "--exit-idle-time=-1", "-L", "module-native-protocol-unix"]
    server = subprocess.Popen(
        [*command, "-L", sink], env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    )
    try:
        _wait_for(server, environment)
        yield Pulse(environment, server)
    finally:
        server.terminate()
        server.communicate(timeout=LONG)


def _wait_for(server: subprocess.Popen[bytes], environment: dict[str, str]) -> None:
    source = ["pactl", "set-default-source", f"{MICROPHONE}.monitor"]
    until = time.monotonic() + LONG
    while time.monotonic() < until:
        assert server.poll() is None, server.communicate()[1]
        asked = subprocess.run(source, env=environment, capture_output=True, check=False)
        if asked.returncode == 0:
            return
        time.sleep(0.1)
    raise AssertionError(f"PulseAudio did not start within {LONG:g} s")
