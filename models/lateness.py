"""Measure how late the model shows a phone: FOLDER/lateness.json, for callout/ear/built_in/lag.py.

Rule of this file: clean recordings of single words, as they are.

    python -m models.lateness --model FOLDER --speech SET.json
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import numpy as np

from callout.ear.acoustic import STEP_SECONDS, AcousticModel
from callout.ear.built_in.lag import FILE
from callout.ear.built_in.loudness import FLOOR, ROW
from callout.ear.built_in.utterance import speech as speech_in
from callout.running.recording_sets import mixed, one_in, pad, read_set

LOUD = 15.0
"""A row is part of the word when it is within so many decibels of the loudest."""


def write(folder: Path, speech: Path, most: int) -> None:
    """Write the median of how late words end, over at most `most` recordings."""
    model = AcousticModel(folder)
    late = []
    for clip in one_in([c for c in read_set(speech) if c.text], most):
        sound = mixed(pad(clip, 0.5, 1.0), [], None)
        stream = model.stream()
        rows = np.concatenate([stream.push(sound), stream.finish()])
        cut = sound[: len(sound) // ROW * ROW].reshape(-1, ROW).astype(np.float64)
        level = 10 * np.log10((cut**2).mean(axis=1) + FLOOR)
        loud, phones = np.flatnonzero(level > level.max() - LOUD), np.flatnonzero(speech_in(rows))
        if len(phones):
            late.append((phones[0] - loud[0], phones[-1] - loud[-1]))
    begins, ends = np.median(np.array(late), axis=0)
    print(f"begins {begins:.0f} and ends {ends:.0f} rows of {STEP_SECONDS} s late, n {len(late)}")
    written = {"late": round(float(ends)), "begins_late": round(float(begins)), "n": len(late)}
    (folder / FILE).write_text(json.dumps(written) + "\n")


def main() -> None:
    """Read the options."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--model", type=Path, required=True)
    parser.add_argument("--speech", type=Path, required=True)
    parser.add_argument("--most", type=int, default=150, help="recordings")
    asked = parser.parse_args()
    write(asked.model, asked.speech, asked.most)


if __name__ == "__main__":
    main()
