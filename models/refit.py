"""All that was fitted to one set of weights, fitted again: lateness, confusions, confidence.

Rule of this file: the order, and which sets are for what. `lateness.json` comes
first, because what is measured of a match hangs on it. Speech is that of people
the model did not learn from; talk and noise are those it did learn from, so that
talk-dev, noise-dev and heli-dev stay untouched for the final figures.

    python -m models.refit --model FOLDER --sets FOLDER
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from models import confidence, confusions, lateness

SPEECH = ("words-dev", "digits-a", "kokoro-dev", "classic-dev")
TALK, NOISE = ("talk-train",), ("noise-train",)
FEW = 100
"""Recordings of each set for the confusions; the words alone for the lateness."""


def main() -> None:
    """Fit everything, in order."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--model", type=Path, required=True)
    parser.add_argument("--sets", type=Path, required=True, help="made by models.kept_sets")
    parser.add_argument("--most", type=int, default=360, help="recordings of each set")
    parser.add_argument("--jobs", type=int, default=1, help="processes at a time")
    asked = parser.parse_args()
    speech, talk, noise = (
        [asked.sets / f"{name}.json" for name in names] for names in (SPEECH, TALK, NOISE)
    )
    began = time.monotonic()
    lateness.write(asked.model, speech[0], FEW)
    confusions.write(asked.model, speech, noise, FEW)
    confidence.write(asked.model, speech, talk, noise, asked.most, asked.jobs)
    print(f"all fitted in {time.monotonic() - began:.0f} s")


if __name__ == "__main__":
    main()
