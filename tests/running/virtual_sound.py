"""Sound devices without hardware: PulseAudio servers that a test starts, speaks into and records.

Rule of this file: every server has its own folder and socket, so that it neither
finds nor disturbs the machine's own. Nothing here knows what callout is.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
import threading
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import IO, TypeVar

import numpy as np
import platformdirs
import soundfile

Child = TypeVar("Child", bound=subprocess.Popen)

RATE = 16_000
PACKAGES = "pulseaudio pulseaudio-utils libasound2-plugins libportaudio2"
MISSING = f"These tests need PulseAudio; on Debian: sudo apt install {PACKAGES}"

MICROPHONE = "module-null-sink sink_name=hangar_mic rate=16000 channels=1"
HEADSET = "module-null-sink sink_name=headset rate=48000"

QUIET_SECONDS = 0.35
"""Silence after which a sentence is over; between two words of callout's voice it is less."""

AUDIBLE = 0.003

PATIENCE = 60.0
"""Seconds for which something is waited for that surely comes: a busy machine may take long."""


def first_in_line(process: Child, priority: int = 10) -> Child:
    """Let a child be scheduled before ordinary programs, where this is allowed.

    Sound in real time is late when other programs keep every core busy; whether
    a test passes must not depend on them.
    """
    with suppress(AttributeError, OSError):
        os.sched_setscheduler(process.pid, os.SCHED_RR, os.sched_param(priority))
    return process


class SoundServer:
    """A PulseAudio server with null sinks; what is played into one can be recorded from it."""

    def __init__(self, *modules: str) -> None:
        if not all(map(shutil.which, ("pulseaudio", "pactl", "paplay", "parec"))):
            raise AssertionError(MISSING)
        # a short name: a socket's path may have 107 characters
        self.folder = Path(tempfile.mkdtemp(prefix="sound-"))
        self._modules = modules
        self._players: list[subprocess.Popen[bytes]] = []
        self._process: subprocess.Popen[bytes] | None = None
        self.start()

    @property
    def address(self) -> str:
        return f"unix:{self.folder}/pulse/native"

    @property
    def environment(self) -> dict[str, str]:
        """For programs that are to find this server and no other.

        What they keep to save time they share with all others: making it anew takes the cores
        that sound in real time needs.
        """
        kept = {key: value for key, value in os.environ.items() if not key.startswith("PULSE_")}
        own = {"XDG_RUNTIME_DIR": str(self.folder), "HOME": str(self.folder)}
        return kept | own | {"XDG_CACHE_HOME": str(platformdirs.user_cache_path())}

    def start(self) -> None:
        command = ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no"]
        for module in ("module-native-protocol-unix", *self._modules):
            command += ["-L", module]
        quiet = subprocess.DEVNULL
        started = subprocess.Popen(command, env=self.environment, stdout=quiet, stderr=quiet)
        self._process = first_in_line(started, 20)
        until = time.monotonic() + PATIENCE
        while not self._answers():
            assert time.monotonic() < until, "the PulseAudio server does not start"
            time.sleep(0.05)
        self._keep_awake()

    def _keep_awake(self) -> None:
        """A null sink that nobody hears sleeps for up to 2 s, as no microphone does."""
        names = [re.search(r"sink_name=(\w+)", module) for module in self._modules]
        for name in filter(None, names):
            command = ["parec", f"--device={name[1]}.monitor", "--latency-msec=30"]
            quiet = subprocess.DEVNULL
            hearer = subprocess.Popen(command, env=self.environment, stdout=quiet, stderr=quiet)
            self._players.append(first_in_line(hearer))

    def _answers(self) -> bool:
        asked = subprocess.run(
            ["pactl", "info"], env=self.environment, capture_output=True, check=False
        )
        return asked.returncode == 0

    def stop(self) -> None:
        """The device is pulled out: the server is gone from one moment to the next."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None
            (self.folder / "pulse" / "native").unlink(missing_ok=True)

    def close(self) -> None:
        self.stop()
        for player in self._players:
            player.kill()
            player.wait()
        shutil.rmtree(self.folder, ignore_errors=True)

    def __enter__(self) -> SoundServer:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def play(self, samples: np.ndarray, sink: str = "hangar_mic") -> subprocess.Popen[bytes]:
        """Play mono sound at RATE into a sink; returns the player at once."""
        path = self.folder / f"{time.monotonic_ns()}.wav"
        soundfile.write(path, samples, RATE)
        command = ["paplay", f"--device={sink}", str(path)]
        player = subprocess.Popen(command, env=self.environment, stderr=subprocess.DEVNULL)
        self._players.append(first_in_line(player))
        return player


def room(seconds: float, seed: int = 0, level: float = 0.003) -> np.ndarray:
    """A quiet room (-50 dBFS of white noise): digital silence is no room."""
    return np.random.default_rng(seed).normal(0, level, round(seconds * RATE))


class Recorder:
    """Records a sink's monitor while it is asked about it."""

    def __init__(self, server: SoundServer, source: str = "headset.monitor") -> None:
        self._parec = subprocess.Popen(
            ["parec", "-d", source, f"--rate={RATE}", "--channels=1", "--format=s16le",
             "--latency-msec=30"],
            env=server.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        first_in_line(self._parec)
        self._parts: list[np.ndarray] = []
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self._parec.stdout is not None
        while raw := self._parec.stdout.read(RATE // 50 * 2):
            self._parts.append(np.frombuffer(raw, "<i2") / np.float32(32768))

    def sound(self) -> np.ndarray:
        """Everything so far, mono at RATE, float -1 .. 1, shape [n]."""
        return np.concatenate(self._parts) if self._parts else np.zeros(0, np.float32)

    def wait_until_said(
        self, since: int, quiet: float = QUIET_SECONDS, timeout: float = PATIENCE
    ) -> int:
        """Until sound came after sample `since`, and `quiet` s of silence; where it ended."""
        until = time.monotonic() + timeout
        while time.monotonic() < until:
            loud = np.flatnonzero(np.abs(self.sound()[since:]) > AUDIBLE)
            heard = len(self.sound()) - since
            if len(loud) and heard - loud[-1] > quiet * RATE:
                return since + int(loud[-1])
            time.sleep(0.03)
        raise AssertionError(f"nothing was said, or it never ended, within {timeout} s")

    def close(self) -> None:
        self._parec.kill()
        self._parec.wait()
        self._reader.join(timeout=PATIENCE)
        assert self._parec.stdout is not None
        self._parec.stdout.close()


class Program:
    """A running program, its lines as they come, and its keyboard."""

    def __init__(self, command: list[str], environment: Mapping[str, str]) -> None:
        self.process = subprocess.Popen(
            command,
            env=dict(environment),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        first_in_line(self.process)
        self.lines: list[str] = []
        self.errors: list[str] = []
        self._readers = [
            threading.Thread(target=self._read, args=pair, daemon=True)
            for pair in ((self.process.stdout, self.lines), (self.process.stderr, self.errors))
        ]
        for reader in self._readers:
            reader.start()

    @staticmethod
    def _read(stream: IO[str], into: list[str]) -> None:
        into.extend(line.rstrip("\n") for line in stream)

    def wait_for(self, text: str, timeout: float = PATIENCE, after: int = 0) -> int:
        """Until a line from number `after` on holds the text; the number of the line after it."""
        return self.wait_for_any((text,), timeout, after)

    def wait_for_any(self, texts: Sequence[str], timeout: float = PATIENCE, after: int = 0) -> int:
        """As `wait_for`, for the first line that holds one of the texts."""
        until = time.monotonic() + timeout
        while time.monotonic() < until:
            over = self.process.poll() is not None and not self._readers[0].is_alive()
            for number, line in enumerate(self.lines[after:], after):
                if any(text in line for text in texts):
                    return number + 1
            if over:
                break
            time.sleep(0.02)
        shown = "\n".join([*self.lines, *self.errors])
        ended = self.process.poll()
        how = f"within {timeout} s" if ended is None else f"before the program ended ({ended})"
        raise AssertionError(f"no line with {' or '.join(texts)} {how}:\n{shown}")

    def type(self, line: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()

    def wait(self, timeout: float = PATIENCE) -> int:
        status = self.process.wait(timeout)
        for reader in self._readers:
            reader.join(timeout=PATIENCE)
        return status

    def close(self) -> None:
        self.process.kill()
        self.process.wait()
        for reader in self._readers:
            reader.join(timeout=PATIENCE)
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            with suppress(OSError):
                stream.close()  # type: ignore[union-attr]
