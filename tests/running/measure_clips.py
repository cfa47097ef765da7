"""Bytes a second of recordings: FLAC and Opus, whole and in pieces, clean and in noise.

    python tests/running/measure_clips.py

Talk and a helicopter's noise are those of tests/ear/recordings.
"""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.ear.from_file import blocks
from callout.logbook.clip_sound import FLAC, OPUS, RATE, encoded
from callout.running.keeping import PIECE

RECORDINGS = Path(__file__).parents[1] / "ear" / "recordings"


def sound(name: str) -> Samples:
    return np.concatenate([block.samples for block in blocks(RECORDINGS / name, tail=0.0)])


def main() -> None:
    talk, noise = sound("talk.ogg"), sound("noise.ogg")
    under = np.resize(noise, len(talk))
    even = np.sqrt(np.mean(talk**2) / np.mean(under**2))
    for name, level in (("clean", 0.0), ("10 dB", 10 ** (-10 / 20)), ("0 dB", 1.0)):
        mixed = talk + under * even * level
        mixed *= 0.7 / np.max(np.abs(mixed))
        for form in (FLAC, OPUS):
            for step in (round(PIECE[form] * RATE), RATE, len(mixed)):
                began = time.perf_counter()
                cut = (mixed[at : at + step] for at in range(0, len(mixed), step))
                size = sum(len(encoded(AudioBlock(one, RATE), form)) for one in cut)
                took = (time.perf_counter() - began) / (len(mixed) / RATE) * 1000
                print(f"{name:6} {form:5} pieces of {step / RATE:5.1f} s: "
                      f"{size / (len(mixed) / RATE):6.0f} bytes/s, {took:5.2f} ms/s")  # fmt: skip


if __name__ == "__main__":
    main()
