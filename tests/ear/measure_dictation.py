"""How well recordings are written down, by each model that is on this disk.

    python tests/ear/measure_dictation.py --speech SET.json --noise SET.json MODEL...

Rule of this file: a script, no test. Sentences read aloud by people (a set of recordings
with what was said) in noise at each ratio; each goes through the very pieces and functions
that `callout squawk transcribe` uses. Word error rate by jiwer, in small letters without
punctuation; seconds of processor for a second of sound.
"""

from __future__ import annotations

import argparse
import re
import time
from pathlib import Path

import jiwer
import numpy as np

from callout.audio_block import AudioBlock
from callout.ear.dictation import Dictation, dictation
from callout.logbook.clip_sound import FLAC, RATE, joined, piece
from callout.running.recording_sets import Clip, mixed, one_in, pad, read_set

RATIOS = (None, 10.0, 0.0)
"""Noise in dB below the speech; None: without any."""


def kept(sound: np.ndarray) -> AudioBlock:
    """Sound as it comes back out of a logbook."""
    pieces = [
        piece(FLAC, AudioBlock(sound[at : at + RATE], RATE, at / RATE))
        for at in range(0, len(sound), RATE)
    ]
    whole = joined(pieces)
    assert whole is not None
    return whole


def plain(text: str) -> str:
    return " ".join(re.sub(r"[^a-z' ]", " ", text.lower()).split())


def measure(engine: Dictation, speech: list[Clip], noise: list[Clip]) -> None:
    for ratio in RATIOS:
        began, seconds, said, found = time.process_time(), 0.0, [], []
        for clip in speech:
            block = kept(mixed(pad(clip, 0.5, 0.5), noise, ratio))
            seconds += block.seconds
            said.append(plain(clip.text))
            found.append(plain(engine.words(block)))
        rate = (time.process_time() - began) / seconds
        wrong = jiwer.wer(said, found)
        where = "without noise" if ratio is None else f"{ratio:.0f} dB"
        words = sum(len(text.split()) for text in said)
        print(f"{engine.by}, {where}: {words} words, {wrong:.1%} wrong, {rate:.2f} s a second")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--speech", type=Path, required=True)
    parser.add_argument("--noise", type=Path, required=True)
    parser.add_argument("--most", type=int, default=20)
    parser.add_argument("models", type=Path, nargs="+")
    asked = parser.parse_args()
    speech = one_in([c for c in read_set(asked.speech) if len(c.text.split()) > 5], asked.most)
    for model in asked.models:
        measure(dictation(model), speech, read_set(asked.noise))


if __name__ == "__main__":
    main()
