"""Sound devices without hardware, for measuring: a PulseAudio server of the bench's own.

Rule of this file: it plays, records and tells when each sample was there; it
knows nothing of checklists. The server has its own folder and socket, so that it
neither finds nor disturbs the machine's own; its two null sinks stand for a
microphone and a headset, their monitors for what sounds in them.

A moment of a recording is where its sample stands by the boot clock: the
earliest that any sample of it came, so that late waking of the reader does not
count. Both recordings are read alike, so what the reading costs falls out of
every difference.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import threading
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np

from callout.audio_block import Samples
from callout.running.clock import boot_seconds
from callout.running.problems import CannotRunError

MIC_RATE, HEADSET_RATE = 16_000, 48_000
TOOLS = ("pulseaudio", "pactl", "pacat", "parec")
PACKAGES = "pulseaudio pulseaudio-utils libasound2-plugins libportaudio2"
READ_MS = 20
"""What the readers ask for: no less than callout does, so that they do not shorten its blocks."""
STARTS_WITHIN = 10.0
_SET_PIPE_SIZE = 1031  # F_SETPIPE_SZ of Linux
_FIRST = 20  # real-time priority, as desktops give the sound server


class Server:
    """A running server; a context.  Raises CannotRunError in one sentence."""

    def __init__(self) -> None:
        missing = [tool for tool in TOOLS if shutil.which(tool) is None]
        if missing:
            raise CannotRunError(
                f"Measuring through sound devices needs {' and '.join(missing)}; "
                f"on Debian: sudo apt install {PACKAGES}. "
                "Without them: --clock recording."
            )
        # A short name: a socket's path may have 107 characters.
        self.folder = Path(tempfile.mkdtemp(prefix="turn-"))
        self._children: list[subprocess.Popen[Any]] = []
        modules = (
            "module-native-protocol-unix",
            f"module-null-sink sink_name=bench_mic rate={MIC_RATE} channels=1",
            f"module-null-sink sink_name=bench_headset rate={HEADSET_RATE} channels=2",
        )
        command = ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no"]
        for module in modules:
            command += ["-L", module]
        self.start(command, stdout=subprocess.DEVNULL)
        self._wait()

    @property
    def environment(self) -> dict[str, str]:
        """For programs that are to find these devices and no others."""
        kept = {key: value for key, value in os.environ.items() if not key.startswith("PULSE_")}
        return kept | {
            "XDG_RUNTIME_DIR": str(self.folder),
            "XDG_CACHE_HOME": str(self.folder / "cache"),
            "PULSE_SERVER": f"unix:{self.folder}/pulse/native",
            "PULSE_SOURCE": "bench_mic.monitor",
            "PULSE_SINK": "bench_headset",
        }

    def start(self, command: list[str], **streams: Any) -> subprocess.Popen[Any]:  # noqa: ANN401
        """Start a child that ends with the server; it is scheduled first where that is allowed."""
        child = subprocess.Popen(
            command, env=self.environment, stderr=subprocess.DEVNULL, **streams
        )
        with suppress(AttributeError, OSError):
            os.sched_setscheduler(child.pid, os.SCHED_RR, os.sched_param(_FIRST))
        self._children.append(child)
        return child

    def _wait(self) -> None:
        until = time.monotonic() + STARTS_WITHIN
        asking = ["pactl", "info"]
        while subprocess.run(
            asking, env=self.environment, capture_output=True, check=False
        ).returncode:
            if time.monotonic() > until:
                self.close()
                raise CannotRunError("The bench's PulseAudio server does not start.")
            time.sleep(0.05)

    def close(self) -> None:
        """End the server and everything that was started with it."""
        for child in reversed(self._children):
            child.kill()
            child.wait()
        shutil.rmtree(self.folder, ignore_errors=True)

    def __enter__(self) -> Server:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


class Room(threading.Thread):
    """What the microphone hears: faint noise all the time, and words when they are said."""

    CHUNK = MIC_RATE // 50

    def __init__(self, server: Server, level: float = 0.002, seed: int = 1) -> None:
        super().__init__(name="room", daemon=True)
        command = ["pacat", "--playback", "--device=bench_mic", f"--rate={MIC_RATE}",
                   "--channels=1", "--format=s16le", "--latency-msec=60"]  # fmt: skip
        self._player = server.start(command, stdin=subprocess.PIPE)
        assert self._player.stdin is not None
        self._pipe = self._player.stdin
        _keep_short(self._pipe.fileno())
        self._random = np.random.default_rng(seed)
        self._level = level
        self._saying: Samples = np.zeros(0, np.float32)
        self._lock = threading.Lock()
        self.start()

    def say(self, samples: Samples) -> None:
        """Let these sound, from a moment from now on."""
        with self._lock:
            self._saying = np.concatenate([self._saying, samples])

    def run(self) -> None:
        """Until the player ends."""
        with suppress(OSError, ValueError):
            while self._player.poll() is None:
                chunk = self._random.normal(0.0, self._level, self.CHUNK)
                with self._lock:
                    said, self._saying = self._saying[: self.CHUNK], self._saying[self.CHUNK :]
                chunk[: len(said)] += said
                sound = (chunk.clip(-1, 1) * 32767).astype("<i2")
                self._pipe.write(sound.tobytes())
                self._pipe.flush()


def _keep_short(pipe: int) -> None:
    """Let 0.13 s of sound wait in a pipe instead of 2 s, where the system can."""
    with suppress(ImportError, OSError):
        import fcntl

        fcntl.fcntl(pipe, _SET_PIPE_SIZE, 4096)


class Recording:
    """Records what sounds in a device, and tells when."""

    def __init__(self, server: Server, device: str, rate: int) -> None:
        self.rate = rate
        command = ["parec", f"--device={device}.monitor", f"--rate={rate}", "--channels=1",
                   "--format=s16le", f"--latency-msec={READ_MS}"]  # fmt: skip
        self._reader = server.start(command, stdout=subprocess.PIPE)
        self._parts: list[bytes] = []
        self._starts_at = float("inf")
        self._count = 0
        self._lock = threading.Lock()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self._reader.stdout is not None
        pipe, left = self._reader.stdout.fileno(), b""
        while raw := os.read(pipe, 65536):
            came, raw = boot_seconds(), left + raw
            whole = len(raw) // 2 * 2
            left = raw[whole:]
            with self._lock:
                self._parts.append(raw[:whole])
                self._count += whole // 2
                self._starts_at = min(self._starts_at, came - self._count / self.rate)

    def since(self, moment: float) -> tuple[Samples, float]:
        """The sound from a boot second on, and the boot second of its first sample."""
        with self._lock:
            if not self._count:
                return np.zeros(0, np.float32), moment
            self._parts = [b"".join(self._parts)]
            first = max(0, round((moment - self._starts_at) * self.rate))
            raw = self._parts[0][2 * first :]
            starts_at = self._starts_at
        sound = np.frombuffer(raw, "<i2").astype(np.float32) / np.float32(32768)
        return sound, starts_at + first / self.rate

    def forget(self) -> None:
        """Keep nothing of what was recorded so far."""
        with self._lock:
            self._parts = []
            self._starts_at += self._count / self.rate
            self._count = 0

    def onset(self, moment: float, level: float) -> float | None:
        """Boot second of the first sample above `level` from a boot second on."""
        sound, begins = self.since(moment)
        loud = np.flatnonzero(np.abs(sound) > level)
        return begins + int(loud[0]) / self.rate if len(loud) else None
