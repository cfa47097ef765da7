"""Measure the exported model as the program would hear it: sound in, closed set out.

Rule of this file: only clips whose role is DEV are used; numpy and onnxruntime
alone. Every allowed phrase gets its exact CTC forward score and the best wins;
no rejection. Sound is streamed with noise before and after it.

    python -m models.training.evaluate --data DIR --model DIR [--pocketsphinx]
"""

from __future__ import annotations

import argparse
import itertools
import json
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path

import numpy as np
import soundfile

from callout.ear.acoustic import AcousticModel
from models.training import phrases
from models.training.data import sound_file
from models.training.prepare import DEV, GROUPS
from models.training.pronounce import PHONES, pronunciations, words_of

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
def ways(text: str) -> tuple[tuple[int, ...], ...]:
    """Up to eight pronunciations of a text."""
    parts = [pronunciations(w) for w in words_of(text)]
    return tuple(
        tuple(itertools.chain(*way)) for way in itertools.islice(itertools.product(*parts), 8)
    )


def forward_scores(logp: np.ndarray, sequences: list[tuple[int, ...]]) -> np.ndarray:
    """Exact CTC log-probability of each sequence, all at once, [len(sequences)]."""
    lengths = np.array([2 * len(s) + 1 for s in sequences])
    states = np.zeros((len(sequences), lengths.max()), int)
    for row, phones in enumerate(sequences):
        states[row, 1 : 2 * len(phones) : 2] = phones
    skip = np.zeros(states.shape, bool)
    skip[:, 3::2] = states[:, 3::2] != states[:, 1:-2:2]
    alpha = np.full(states.shape, -1e30)
    alpha[:, 0] = logp[0, 0]
    alpha[:, 1] = logp[0, states[:, 1]]
    nothing = np.full((len(sequences), 2), -1e30)
    for row in logp[1:]:
        before = np.concatenate([nothing, alpha], 1)
        best = np.logaddexp(alpha, before[:, 1:-1])
        best = np.where(skip, np.logaddexp(best, before[:, :-2]), best)
        alpha = best + row[states]
    ends = np.arange(len(sequences))
    return np.logaddexp(alpha[ends, lengths - 1], alpha[ends, lengths - 2])


_model: AcousticModel | None = None


def hear(folder: Path, test: Test) -> tuple[str, str, str]:
    """What the model makes of a test: (test name, said, heard)."""
    global _model
    if _model is None:
        _model = AcousticModel(folder)
    stream = _model.stream()
    rows = [stream.push(part) for part in np.array_split(test.sound, max(1, len(test.sound) // 1600))]
    logp = np.concatenate([*rows, stream.finish()])
    if test.allowed == ("digits",):
        return test.name, test.said, digit_string(logp)
    sequences = [(text, way) for text in test.allowed for way in ways(text)]
    scored = forward_scores(logp, [way for _, way in sequences])
    best: dict[str, float] = {}
    for (text, _), score in zip(sequences, scored, strict=True):
        best[text] = np.logaddexp(best.get(text, -np.inf), score)
    return test.name, test.said, max(best, key=lambda t: best[t])


def digit_string(logp: np.ndarray) -> str:
    """The likeliest string of digits, any number of them (Viterbi over a loop of words)."""
    words = [(w, way) for w in [*phrases.DIGITS, "niner"] for way in pronunciations(w)]
    states, starts, ends, word_of = [], [], [], []
    for number, (_, way) in enumerate(words):
        starts.append(len(states))
        for place, phone in enumerate(way):
            states += [phone] if place == 0 else [0, phone]
        ends.append(len(states) - 1)
        word_of += [number] * (len(states) - starts[-1])
    phones = np.array(states)
    first = np.zeros(len(states), bool)
    first[starts] = True
    skip = np.zeros(len(states), bool)
    for start, end in zip(starts, ends, strict=True):
        for s in range(start + 2, end + 1, 2):
            skip[s] = phones[s] != phones[s - 2]
    score = np.full(len(states), -1e30)
    said = [()] * len(states)
    gap, gap_said = 0.0, ()
    for row in logp:
        best, best_said = score.copy(), list(said)
        finish = max(ends, key=lambda e: score[e])
        for s in range(len(states)):
            options = []
            if first[s]:
                number = word_of[s]
                options.append((gap, (*gap_said, number)))
                if phones[finish] != phones[s]:
                    options.append((score[finish], (*said[finish], number)))
            else:
                options.append((score[s - 1], said[s - 1]))
                if skip[s]:
                    options.append((score[s - 2], said[s - 2]))
            for value, history in options:
                if value > best[s]:
                    best[s], best_said[s] = value, history
        if score[finish] > gap:
            gap, gap_said = score[finish], said[finish]
        gap += row[0]
        score, said = best + row[phones], best_said
    finish = max(ends, key=lambda e: score[e])
    history = said[finish] if score[finish] > gap else gap_said
    return " ".join(words[n][0].replace("niner", "nine") for n in history)


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
            tests.append(Test(f"joined digits {'clean' if snr is None else snr}", said, whole, ("digits",)))
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
    numbers = some([c for c in spoken if len(words_of(c[0])) >= 2
                    and all(w in [*phrases.DIGITS, "niner"] for w in words_of(c[0]))])
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
        right, n = sum(said == heard for said, heard in mine), len(mine)
        p, z = right / n, 1.96
        middle = (p + z * z / 2 / n) / (1 + z * z / n)
        wide = z * np.sqrt(p * (1 - p) / n + z * z / 4 / n / n) / (1 + z * z / n)
        wrong = Counter(f"{s}>{h}" for s, h in mine if s != h).most_common(4)
        print(f"{name:20} {100 * p:5.1f} % of {n:4}  ({100 * (middle - wide):.1f} – "
              f"{100 * (middle + wide):.1f})  {', '.join(f'{k} {v}' for k, v in wrong)}", flush=True)


def pocketsphinx_hears(test: Test) -> tuple[str, str, str]:
    """The same with PocketSphinx's own model and a grammar of the allowed phrases."""
    from pocketsphinx import Config, Decoder

    if test.allowed == ("digits",):
        words = " | ".join([*phrases.DIGITS, "niner"])
        rule = f"( {words} )+"
    else:
        rule = " | ".join(f"( {t} )" for t in test.allowed)
    decoder = Decoder(Config(lm=None, samprate=RATE, loglevel="FATAL"))
    decoder.add_jsgf_string("g", f"#JSGF V1.0; grammar g; public <a> = {rule};")
    decoder.activate_search("g")
    decoder.start_utt()
    dither = np.random.default_rng(0).normal(0, 2, len(test.sound))
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
    assert len(PHONES) == 39
    main()
