"""Measure how late the model shows a phone, for callout/ear/built_in/loudness.py.

Rule of this file: clean recordings of single words, as they are.

    python -m models.lateness --model FOLDER --speech SET.json
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from callout.ear.acoustic import STEP_SECONDS, AcousticModel
from callout.ear.built_in.loudness import FLOOR, ROW
from callout.ear.built_in.utterance import speech
from callout.running.bench_sets import mixed, one_in, pad, read_set

LOUD = 15.0
"""A row is part of the word when it is within so many decibels of the loudest."""


def main() -> None:
    """Print the median of how late words begin and end."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--model", type=Path, required=True)
    parser.add_argument("--speech", type=Path, required=True)
    parser.add_argument("--most", type=int, default=150, help="recordings")
    asked = parser.parse_args()
    model = AcousticModel(asked.model)
    late = []
    for clip in one_in([c for c in read_set(asked.speech) if c.text], asked.most):
        sound = mixed(pad(clip, 0.5, 1.0), [], None)
        stream = model.stream()
        rows = np.concatenate([stream.push(sound), stream.finish()])
        cut = sound[: len(sound) // ROW * ROW].reshape(-1, ROW).astype(np.float64)
        level = 10 * np.log10((cut**2).mean(axis=1) + FLOOR)
        loud, phones = np.flatnonzero(level > level.max() - LOUD), np.flatnonzero(speech(rows))
        if len(phones):
            late.append((phones[0] - loud[0], phones[-1] - loud[-1]))
    begins, ends = np.median(np.array(late), axis=0)
    print(f"begins {begins:.0f} and ends {ends:.0f} rows of {STEP_SECONDS} s late, n {len(late)}")


if __name__ == "__main__":
    main()
