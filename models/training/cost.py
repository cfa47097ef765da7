"""How much of one core the model takes: features and network, block by block.

Rule of this file: processor time, not wall time, so that other work on the
machine counts little.

    python -m models.training.cost DIR_WITH_EAR
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

from callout.ear.acoustic import AcousticModel
from callout.ear.mel import RATE


def main() -> None:
    """Print the share of real time for blocks of several lengths."""
    model = AcousticModel(Path(sys.argv[1]))
    sound = (0.05 * np.random.default_rng(1).standard_normal(20 * RATE)).astype(np.float32)
    for milliseconds in (20, 40, 100, 200):
        stream = model.stream()
        began = time.process_time()
        for part in np.split(sound, range(0, len(sound), milliseconds * RATE // 1000)):
            stream.push(part)
        used = (time.process_time() - began) / 20
        print(f"blocks of {milliseconds:3} ms: {100 * used:.1f} % of one core")


if __name__ == "__main__":
    main()
