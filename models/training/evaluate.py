"""Measure the exported model as the program would hear it: sound in, closed set out.

Rule of this file: only clips whose role is DEV are used; numpy and onnxruntime
alone. Every allowed phrase gets its exact CTC forward score and the best wins;
no rejection. Sound is streamed with noise before and after it.

    python -m models.training.evaluate --data DIR --model DIR [--pocketsphinx]
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from callout.ear.acoustic import AcousticModel
from models.training import phrases
from models.training.data import sound_file
from models.training.prepare import DEV, GROUPS
from models.training.pronounce import PHONES, pronunciations, words_of
from models.training.scoring import digit_string, forward_scores, same, ways

RATE = 16_000
HELICOPTERS = (34, 39, 42, 45, 82, 83, 84)
"""Noises kept for testing that are helicopters, places in noise-a."""


@dataclass(frozen=True)
class Test:
    """One utterance to hear: sound, what was said, and the phrases allowed."""

    name: str
    said: str
    sound: np.ndarray
    allowed: tuple[str, ...]


def clips(folder: Path, index: Path, group: str) -> list[tuple[str, str, np.ndarray, int]]:
    """Text, speaker, sound and place of every clip kept for testing in a group."""
    held = np.load(index)
    out = []
    for number, name in enumerate(held["files"].tolist()):
        table = held["clips"]
        table = table[table[:, 0] == number]
        mine = (table[:, 4] == GROUPS.index(group)) & (table[:, 5] == DEV)
        if not mine.any():
            continue
        sound = soundfile.read(sound_file(folder, name), dtype="float32")[0]
        notes = json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
        for place in np.flatnonzero(mine):
            start, length = table[place, 1:3]
            note = notes[place]
            out.append((note["text"], note["speaker"], sound[start : start + length], place))
    return out


def mixed(sound: np.ndarray, noise: np.ndarray | None, snr: float, rng: np.random.Generator):
    """The sound with 0.5 s before and 0.7 s after it, in noise (or digital silence)."""
    whole = np.concatenate([np.zeros(RATE // 2), sound, np.zeros(int(0.7 * RATE))])
    if noise is not None:
        start = rng.integers(len(noise))
        hum = np.take(noise, np.arange(start, start + len(whole)), mode="wrap")
        power = (sound**2).mean() / 10 ** (snr / 10)
        whole = whole + hum * np.sqrt(power / ((hum**2).mean() + 1e-12))
    return (whole / max(1.0, np.abs(whole).max() / 0.9)).astype(np.float32)


@cache
def opened(folder: Path) -> AcousticModel:
    """The model, opened once in each process."""
    return AcousticModel(folder)


def hear(folder: Path, test: Test) -> tuple[str, str, str]:
    """What the model makes of a test: (test name, said, heard)."""
    stream = opened(folder).stream()
    rows = [
        stream.push(part) for part in np.array_split(test.sound, max(1, len(test.sound) // 1600))
    ]
    logp = np.concatenate([*rows, stream.finish()])
    if test.allowed == ("digits",):
        return test.name, test.said, digit_string(logp)
    sequences = [(text, way) for text in test.allowed for way in ways(text)]
    scored = forward_scores(logp, [way for _, way in sequences])
    best: dict[str, float] = {}
    for (text, _), score in zip(sequences, scored, strict=True):
        best[text] = np.logaddexp(best.get(text, -np.inf), score)
    return test.name, test.said, max(best, key=lambda t: best[t])


def closed_set(name: str, group: list, allowed: tuple[str, ...], noises: list, seed: int) -> list:
    """Tests of one set of clips clean and in noise."""
    rng = np.random.default_rng(seed)
    tests = []
    for snr in (None, 10, 5, 0):
        for text, _, sound, _ in group:
            noise = None if snr is None else noises[rng.integers(len(noises))]
            whole = mixed(sound, noise, snr or 0.0, rng)
            tests.append(Test(f"{name} {'clean' if snr is None else snr}", text, whole, allowed))
    return tests


def connected(group: list, noises: list, seed: int, count: int) -> list:
    """Numbers of two to four digits put together from one speaker's digits, clean and at 10 dB."""
    rng = np.random.default_rng(seed)
    by_speaker: dict[str, list] = {}
    for text, speaker, sound, _ in group:
        by_speaker.setdefault(speaker, []).append((text, sound))
    speakers = [s for s in by_speaker if len(by_speaker[s]) >= 10]
    tests = []
    for _ in range(count):
        mine = by_speaker[speakers[rng.integers(len(speakers))]]
        chosen = [mine[i] for i in rng.choice(len(mine), rng.integers(2, 5), replace=False)]
        parts = []
        for _, sound in chosen:
            parts += [sound, np.zeros(int(rng.uniform(0.03, 0.2) * RATE))]
        said = " ".join(t for t, _ in chosen)
        for snr in (None, 10):
            noise = None if snr is None else noises[rng.integers(len(noises))]
            whole = mixed(np.concatenate(parts), noise, snr or 0.0, rng)
            tests.append(
                Test(f"joined digits {'clean' if snr is None else snr}", said, whole, ("digits",))
            )
    return tests


def all_tests(folder: Path, index: Path, few: int) -> list[Test]:
    """Every test; `few` > 0 keeps that many clips of each set."""
    noise_clips = clips(folder, index, "noise")
    noises = [n[2] for n in noise_clips if n[3] in HELICOPTERS]

    def some(items: list) -> list:
        order = np.random.default_rng(5).permutation(len(items))
        return [items[i] for i in order[: few or None]]

    words = some(clips(folder, index, "commands"))
    digits = clips(folder, index, "digits")
    spoken = clips(folder, index, "kokoro") + clips(folder, index, "classic")
    answers = set(phrases.answers())
    answered = some([c for c in spoken if c[0] in answers])
    numbers = some(
        [
            c
            for c in spoken
            if len(words_of(c[0])) >= 2
            and all(w in [*phrases.DIGITS, "niner"] for w in words_of(c[0]))
        ]
    )
    tests = closed_set("words", words, tuple(phrases.COMMANDS), noises, 1)
    tests += closed_set("phone digits", some(digits), tuple(phrases.DIGITS), noises, 2)
    tests += closed_set("answers", answered, tuple(sorted(answers)), noises, 3)
    tests += [
        Test(t.name, t.said.replace("niner", "nine"), t.sound, t.allowed)
        for t in closed_set("numbers", numbers, ("digits",), noises, 4)
    ]
    return tests + connected(digits, noises, 6, few or 200)


def report(results: list[tuple[str, str, str]]) -> None:
    """Print the share right with its 95 % interval (Wilson), and the commonest confusions."""
    for name in dict.fromkeys(r[0] for r in results):
        mine = [(said, heard) for n, said, heard in results if n == name]
        right, n = sum(same(*pair) for pair in mine), len(mine)
        p, z = right / n, 1.96
        middle = (p + z * z / 2 / n) / (1 + z * z / n)
        wide = z * np.sqrt(p * (1 - p) / n + z * z / 4 / n / n) / (1 + z * z / n)
        wrong = Counter(f"{s}>{h}" for s, h in mine if not same(s, h)).most_common(4)
        print(
            f"{name:20} {100 * p:5.1f} % of {n:4}  ({100 * (middle - wide):.1f} – "
            f"{100 * (middle + wide):.1f})  {', '.join(f'{k} {v}' for k, v in wrong)}",
            flush=True,
        )


@cache
def pocketsphinx_for(allowed: tuple[str, ...]) -> Any:
    """PocketSphinx's own model with a grammar of the allowed phrases; unknown words added."""
    from pocketsphinx import Config, Decoder

    decoder = Decoder(Config(lm=None, samprate=RATE, loglevel="FATAL"))
    texts = [*phrases.DIGITS, "niner"] if allowed == ("digits",) else allowed
    for word in {w for t in texts for w in t.split()}:
        if decoder.lookup_word(word) is None:
            names = [PHONES[p - 1] for p in pronunciations(word)[0]]
            decoder.add_word(word, " ".join(names), True)
    rule = " | ".join(f"( {t} )" for t in texts)
    rule = f"( {rule} )+" if allowed == ("digits",) else rule
    decoder.add_jsgf_string("g", f"#JSGF V1.0; grammar g; public <a> = {rule};")
    decoder.activate_search("g")
    return decoder


def pocketsphinx_hears(test: Test) -> tuple[str, str, str]:
    """The same with PocketSphinx, a little dither under digital silence."""
    decoder = pocketsphinx_for(test.allowed)
    dither = np.random.default_rng(0).normal(0, 2, len(test.sound))
    decoder.start_utt()
    decoder.process_raw((test.sound * 32_767 + dither).astype(np.int16).tobytes(), full_utt=True)
    decoder.end_utt()
    found = decoder.hyp()
    heard = found.hypstr.replace("niner", "nine") if found else ""
    return test.name, test.said, heard


def main() -> None:
    """Run the tests."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--data", type=Path, required=True)
    options.add_argument("--model", type=Path, required=True)
    options.add_argument("--few", type=int, default=0)
    options.add_argument("--workers", type=int, default=2)
    options.add_argument("--pocketsphinx", action="store_true")
    options.add_argument("--only", default="")
    chosen = options.parse_args()
    tests = all_tests(chosen.data / "sets", chosen.data / "index.npz", chosen.few)
    tests = [t for t in tests if t.name.startswith(chosen.only)]
    listener = pocketsphinx_hears if chosen.pocketsphinx else partial(hear, chosen.model)
    with ProcessPoolExecutor(chosen.workers) as workers:
        report(list(workers.map(listener, tests, chunksize=16)))


if __name__ == "__main__":
    main()
