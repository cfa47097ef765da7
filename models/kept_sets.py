"""The sets that the benches and the fit read, cut out of the collected recordings.

Rule of this file: who is in which set is what models.training.prepare decided for the training,
by the same functions; nothing is decided here. Sound is copied sample by sample, as FLAC.

    python -m models.kept_sets COLLECTED OUT

COLLECTED is the folder that models.training.prepare reads. OUT gets, each as NAME.json and
NAME.flac: words-dev, digits-a, kokoro-dev, classic-dev, talk-dev, noise-dev, heli-dev (all kept
out of training), talk-train and noise-train (trained on: for fitting only).
answers-dev and numbers-dev are spoken anew by models.kept_voices.
"""

from __future__ import annotations

import argparse
import json
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from models.training.data import sound_file
from models.training.evaluate import HELICOPTERS, RATE
from models.training.prepare import DEV, TRAIN, dev_speakers, group_of, role_of

SETS = {
    ("commands", DEV): ("words-dev",),
    ("words", DEV): ("words-dev",),
    ("digits", DEV): ("digits-a",),
    ("kokoro", DEV): ("kokoro-dev",),
    ("classic", DEV): ("classic-dev",),
    ("talk", DEV): ("talk-dev",),
    ("talk", TRAIN): ("talk-train",),
    ("noise", DEV): ("noise-dev",),
    ("noise", TRAIN): ("noise-train",),
}
"""What a recording of a group and a role belongs to."""

Entry = tuple[dict[str, Any], np.ndarray]


def recordings(folder: Path) -> Iterator[tuple[str, Entry]]:
    """Every recording that belongs to a set: the set's name, its note and its samples."""
    import soundfile

    for path in sorted(folder.glob("*.json")):
        notes = json.loads(path.read_text(encoding="utf-8"))
        kept = dev_speakers(notes) if path.stem.startswith("words") else set()
        sound = soundfile.read(sound_file(folder, path.stem), dtype="int16")[0]
        begin = 0
        for place, note in enumerate(notes):
            samples = sound[begin : begin + note["samples"]]
            begin += note["samples"]
            group = group_of(path.stem, note)
            role = role_of(group, note, place, kept)
            for name in SETS.get((group, role), ()):
                yield name, (note, samples)
            if group == "noise" and role == DEV and place in HELICOPTERS:
                yield "heli-dev", (note, samples)


def main() -> None:
    """Read, sort, write; say how much of each there is."""
    import soundfile

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("collected", type=Path)
    parser.add_argument("out", type=Path)
    asked = parser.parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    found: dict[str, list[Entry]] = defaultdict(list)
    for name, entry in recordings(asked.collected):
        found[name].append(entry)
    for name, entries in sorted(found.items()):
        whole = np.concatenate([samples for _, samples in entries])
        soundfile.write(asked.out / f"{name}.flac", whole, RATE, subtype="PCM_16")
        notes = json.dumps([note for note, _ in entries], indent=0)
        (asked.out / f"{name}.json").write_text(notes + "\n", encoding="utf-8")
        print(f"{name:12} {len(entries):5} recordings {len(whole) / RATE / 60:6.1f} min")


if __name__ == "__main__":
    main()
