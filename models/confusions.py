"""Measure which phones the built-in model mistakes for which, in noise.

Rule of this file: the phones of known texts are aligned to the model's rows;
counted is what the model believed at each phone's best row.

    python -m models.confusions --model FOLDER --speech SET.json --noise SET.json

writes FOLDER/confusions.json, which callout.ear.built_in.similar reads.
"""

from __future__ import annotations

import argparse
import json
import zlib
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from callout.ear.acoustic import AcousticModel
from callout.ear.built_in.machine import BLANK, NOISE, compile_graph
from callout.ear.built_in.passing import TokenPassing
from callout.ear.built_in.pronunciations import PHONES
from callout.ear.built_in.word_graph import WordGraph
from callout.running.recording_sets import Clip, mixed, one_in, pad, read_set
from callout.words.understand import plain

SNRS = (15.0, 10.0, 5.0, 0.0)
FLOOR = 0.002
"""No mistake is thought rarer than this."""


def beliefs(model: AcousticModel, clip: Clip, noises: list[Clip]) -> tuple[np.ndarray, np.ndarray]:
    """Phones said (columns) and the model's probabilities at the row of each, [n, 40]."""
    graph = WordGraph()
    graph.ends.add(graph.add(plain(clip.text)))
    machine = compile_graph(graph)
    snr = SNRS[zlib.crc32(f"{clip.place}{clip.text}".encode()) % len(SNRS)]
    stream = model.stream()
    sound = mixed(pad(clip, 0.5, 0.5), noises, snr)
    rows = np.concatenate([stream.push(sound), stream.finish()])
    passing = TokenPassing(machine)
    passing.push(rows)
    path = passing.best()
    if path is None:
        return np.zeros(0, int), np.zeros((0, 40))
    columns = machine.emits[list(path.states)]
    said, places = [], []
    for state in dict.fromkeys(path.states):
        at = [row for row, other in enumerate(path.states) if other == state]
        if columns[at[0]] not in (BLANK, NOISE):
            best = max(at, key=lambda row: rows[row, columns[row]])
            said.append(int(columns[best]))
            places.append(best)
    return np.array(said), np.exp(rows[places])


def write(folder: Path, speech: Sequence[Path], noise: Sequence[Path], most: int) -> None:
    """Count over at most `most` recordings of each set and write."""
    noises = [clip for path in noise for clip in read_set(path)]
    model = AcousticModel(folder)
    mass = np.zeros((len(PHONES) + 1, len(PHONES) + 1))
    count = np.zeros(len(PHONES) + 1)
    for path in speech:
        texts = [clip for clip in read_set(path) if 0 < len(clip.text.split()) <= 8]
        for clip in one_in(texts, most):
            said, believed = beliefs(model, clip, noises)
            for column, row in zip(said, believed, strict=True):
                mass[column] += row
                count[column] += 1
    share = (mass + 0.5 / len(mass)) / (count + 0.5)[:, None]
    own = np.diag(share)
    both = np.sqrt(share * share.T)[1:, 1:] / np.sqrt(np.outer(own, own))[1:, 1:]
    instead = -np.log(np.clip(both, FLOOR, 1.0))
    np.fill_diagonal(instead, 0.0)
    missed = -np.log(np.clip(share[1:, 0] / own[1:], FLOOR, 1.0))
    written = {
        "phones": list(PHONES),
        "counted": [int(n) for n in count[1:]],
        "instead": np.round(instead, 2).tolist(),
        "missed": np.round(missed, 2).tolist(),
    }
    (folder / "confusions.json").write_text(json.dumps(written) + "\n")


def main() -> None:
    """Read the options."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--model", type=Path, required=True)
    parser.add_argument("--speech", type=Path, action="append", required=True)
    parser.add_argument("--noise", type=Path, action="append", required=True)
    parser.add_argument("--most", type=int, default=800, help="recordings of each set")
    asked = parser.parse_args()
    write(asked.model, asked.speech, asked.noise, asked.most)


if __name__ == "__main__":
    main()
