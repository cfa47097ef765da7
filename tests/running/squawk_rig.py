"""A small invented aircraft, and a pilot whose squawks are made by a voice.

The voice is eSpeak NG's, which is not the one callout speaks with; the noise
under it is white and faint.
"""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from functools import cache
from pathlib import Path

import numpy as np
import soundfile
import spoken_words

from callout.audio_block import AudioBlock
from callout.logbook.clip_sound import joined
from callout.logbook.places import Place
from callout.logbook.squawks import pieces
from callout.logbook.store import Logbook

RATE = 16_000
FOUND = "the left skid fairing has a crack near the rear bolt"

AIRCRAFT = """\
callout: 1
aircraft:
  name: Test rig
  revision: "1"
  written_by: nobody, invented for this test
  limits_from: {handbook: "none, invented"}
engine_states: [start]
lists:
  walk-round:
    title: walk round
    abort: stop
    items:
      - {id: cap, call: fuel cap, answer: closed, where: left side}
      - {id: tail, call: tail boom, answer: free, where: tail}
  start:
    title: start
    engine_state: start
    items:
      - {id: lever, call: fuel lever, answer: closed}
  stop:
    title: stop everything
    kind: abort
    items:
      - {id: valve, call: fuel valve, answer: shut}
"""


def aircraft(folder: Path, settings: str = "") -> Path:
    file = folder / "rig.yaml"
    file.write_text(AIRCRAFT + settings, encoding="utf-8")
    return file


@cache
def spoken(text: str) -> np.ndarray:
    made: np.ndarray = spoken_words.spoken(text, pace=120) * 0.5
    return made


def recording(folder: Path, *said: tuple[float, str], seconds: float) -> Path:
    """Words at their times (s), over faint noise, as a FLAC file."""
    sound = np.random.default_rng(3).normal(0, 0.002, round(seconds * RATE))
    for at, text in said:
        words, start = spoken(text), round(at * RATE)
        sound[start : start + len(words)] += words
    file = folder / "said.flac"
    soundfile.write(file, sound.astype(np.float32), RATE)
    return file


def run(file: Path, logbook: Path, *more: str) -> list[str]:
    return [
        *(sys.executable, "-m", "callout", "run", str(file), "walk-round", "start"),
        *("--speak", "none", "--logbook", str(logbook), *more),
    ]


def keyed(file: Path, logbook: Path, *lines: str, more: tuple[str, ...] = ()) -> str:
    """A session in real time, answered by typed lines; its transcript."""
    done = subprocess.run(
        run(file, logbook, "--ear", "keys", *more),
        input="".join(f"{line}\n" for line in lines),
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert "Traceback" not in done.stderr, done.stderr
    return done.stdout


def callout(*words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "callout", *words]
    return subprocess.run(command, capture_output=True, text=True, timeout=240, check=False)


def clip(place: Place, session: int, name: str, until: float | None = None) -> AudioBlock | None:
    with Logbook.read(place) as logbook:
        return joined(pieces(logbook, session, name), until)


def rows(logbook: Path, query: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(logbook)) as base:
        return base.execute(query).fetchall()


def likeness(found: np.ndarray, words: np.ndarray) -> float:
    """The highest normalised correlation of words with a stretch of sound, -1 to 1."""
    size = 1 << (len(found) + len(words)).bit_length()
    spectrum = np.fft.rfft(found, size) * np.conj(np.fft.rfft(words, size))
    products = np.fft.irfft(spectrum, size)[: max(1, len(found) - len(words) + 1)]
    energy = np.concatenate([[0.0], np.cumsum(np.square(found, dtype=np.float64))])
    under = np.sqrt(np.maximum(energy[len(words) :] - energy[: -len(words)], 1e-12))
    return float(np.max(products[: len(under)] / under) / np.sqrt(np.sum(np.square(words))))


def likeness_of_parts(found: np.ndarray, words: np.ndarray) -> float:
    """The median likeness of half seconds of words: a sound server that once stumbles moves
    what comes after, which the whole would not survive, and hurts one part."""
    parts = [words[at : at + RATE // 2] for at in range(0, len(words) - RATE // 2, RATE // 2)]
    loud = [part for part in parts if np.abs(part).max() > 0.1 * np.abs(words).max()]
    return float(np.median([likeness(found, part) for part in loud]))
