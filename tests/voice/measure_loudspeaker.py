"""How soon a clip is heard and a cut is silent, on a virtual device of PulseAudio.

Usage: python tests/voice/measure_loudspeaker.py

Starts a PulseAudio of its own with a null sink, plays into it, and listens to
what the sink puts out. What is measured includes the way from the sink to this
program (parec, about 5 ms), so each figure is an upper bound. Needs Debian's
pulseaudio, pulseaudio-utils, libasound2-plugins and libportaudio2.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import tempfile
import threading
import time
from pathlib import Path

import numpy as np

TIMES = 20
RATE = 24_000
SINK = "module-null-sink sink_name=headset rate=48000"


class Ear:
    """What the sink puts out: (when it came, samples), newest last."""

    def __init__(self) -> None:
        command = ["parec", "-d", "headset.monitor", "--format=s16le", "--rate=48000"]
        self.process = subprocess.Popen(
            [*command, "--channels=1", "--latency-msec=5"], stdout=subprocess.PIPE
        )
        self.heard: list[tuple[float, np.ndarray]] = []
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        while chunk := self.process.stdout.read1(4096):
            samples = np.frombuffer(chunk[: len(chunk) // 2 * 2], np.int16)
            self.heard.append((time.monotonic(), samples))

    def sounding(self) -> list[float]:
        """When chunks with sound came."""
        return [at for at, samples in self.heard if np.abs(samples).max(initial=0) > 100]


def main() -> None:
    with tempfile.TemporaryDirectory() as home:
        os.environ |= {"XDG_RUNTIME_DIR": home, "HOME": home}
        options = ["-n", "--daemonize=no", "--exit-idle-time=-1"]
        modules = ["-L", "module-native-protocol-unix", "-L", SINK]
        server = subprocess.Popen(["pulseaudio", *options, *modules], stderr=subprocess.DEVNULL)
        while not (Path(home) / "pulse" / "native").exists():
            time.sleep(0.05)
        try:
            measure()
        finally:
            server.terminate()
            server.wait()


def measure() -> None:
    from callout.audio_block import AudioBlock
    from callout.voice.loudspeaker import Loudspeaker

    ear = Ear()
    began = time.monotonic()
    speaker = Loudspeaker(None)
    print(f"opened in {time.monotonic() - began:.2f} s, latency as told {speaker.latency:.3f} s")
    tone = 0.3 * np.sin(2 * np.pi * 500 * np.arange(2 * RATE) / RATE)
    long, short = (AudioBlock(tone[:n].astype(np.float32), RATE) for n in (2 * RATE, RATE // 10))
    time.sleep(1)
    starts, stops, ends = [], [], []
    for count in range(TIMES):
        ear.heard.clear()
        asked = time.monotonic()
        speaker.play(long)
        time.sleep(0.4 + 0.0007 * count)  # so that the cut falls anywhere in a block
        cut = time.monotonic()
        speaker.stop()
        time.sleep(0.4)
        sounding = ear.sounding()
        starts.append(sounding[0] - asked)
        stops.append(sounding[-1] - cut)
    for _ in range(TIMES):
        ear.heard.clear()
        done = threading.Event()
        speaker.play(short, done.set)
        done.wait(3)
        told = time.monotonic()
        time.sleep(0.3)
        ends.append(told - ear.sounding()[-1])
    for what, values in (("play to heard", starts), ("stop to silent", stops)):
        print(f"{what}: median {statistics.median(values) * 1e3:.0f} ms, "
              f"95th percentile {np.percentile(values, 95) * 1e3:.0f} ms")  # fmt: skip
    print(f"done is told {statistics.median(ends) * 1e3:+.0f} ms after the last sound is heard")
    print(f"underflows {speaker.underflows}, opened anew {speaker.reopened}")
    speaker.close()
    ear.process.terminate()


if __name__ == "__main__":
    main()
