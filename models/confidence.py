"""Fit the certainty of the built-in ear: which measures of a match mean that it is right.

Rule of this file: every example is an utterance against a grammar like those of
a checklist, half of the time with what was said in it and half without. A
certainty of 0.8 then means: of such matches, eight in ten were right.

    python -m models.confidence --model FOLDER --speech SET.json --talk SET.json --noise SET.json

writes FOLDER/confidence.json with the weights and the error on speakers that
the weights have not seen. Logistic regression (Cox 1958), weak ridge penalty.
"""

from __future__ import annotations

import argparse
import json
import random
import zlib
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

import numpy as np

from callout.benches.figures import calibration_error
from callout.ear.acoustic import AcousticModel
from callout.ear.built_in.grammar_machine import GrammarMachine
from callout.ear.built_in.judging import MEASURES, Confidence
from callout.ear.built_in.lag import Lag
from callout.ear.built_in.loudness import Loudness
from callout.ear.built_in.utterance import BEFORE, Heard, Utterance, speech
from callout.running.recording_sets import Clip, mixed, one_in, pad, read_set
from callout.words.number_words import HEARD_WORDS
from callout.words.phrases import Grammar, NumberSlot, Phrase
from callout.words.understand import plain
from callout.words.universal import UNIVERSAL, forms

SNRS = (None, 15.0, 10.0, 5.0, 0.0, -3.0)
GRAMMARS, TALK_GRAMMARS = 3, 20
"""So many grammars are tried on each recording, and on each stretch of talk."""
RIDGE = 1.0
MEANT = 1 / 3
"""So much of what is heard while an item waits is thought to be its answer or another word that
counts; the examples are weighed so. More would make the ear trusting, less would make it timid.
"""
WORSE = ("match", "worst word", "stray", "fast", "slow", "missed", "weakest", "vague", "silent")
BETTER = ("margin", "phones", "alone", "clear")
SIGNS = tuple(-1 if name in WORSE else 1 if name in BETTER else 0 for name in MEASURES)
"""Which way each measure may count: those in WORSE grow as a match gets worse."""
ALWAYS = tuple(text for word in UNIVERSAL for text in forms(word))
SURE = Confidence((0.0,) * len(MEASURES))


@dataclass(frozen=True)
class Example:
    """Measures of one match, whether it was right, and who spoke."""

    measures: tuple[float, ...]
    right: bool
    speaker: str


def utterances(
    rows: np.ndarray, sound: np.ndarray, grammar: GrammarMachine, lag: Lag
) -> Iterator[tuple[str, tuple[float, ...]]]:
    """Text and measures of every utterance in one recording, as the ear would cut it."""
    for end in ends(rows, sound, grammar, lag, SURE):
        if end.judgement:
            yield end.judgement.text, end.judgement.measures


def ends(
    rows: np.ndarray, sound: np.ndarray, grammar: GrammarMachine, lag: Lag, confidence: Confidence
) -> Iterator[Heard]:
    """What became of every utterance in one recording."""
    loudness = Loudness(lag)
    loudness.hear(sound)
    heard: Utterance | None = None
    for place, row in enumerate(rows):
        if heard is None:
            if speech(row[None])[0]:
                first = max(0, place - BEFORE)
                before = rows[first : place + 1]
                heard = Utterance(grammar, confidence, before, loudness, first, lag)
        elif (end := heard.push(row[None])) is not None:
            heard = None
            yield end
    if heard is not None:
        yield heard.finish()


def grammar_for(text: str, pool: Sequence[str], rng: random.Random) -> Grammar:
    """A grammar of a few answers, the universal words, often a number; with `text` or without."""
    words = {*rng.sample(pool, rng.choice((2, 4, 8, 20))), *rng.sample(ALWAYS, 24)}
    words.discard(text)
    is_number = bool(text) and set(text.split()) <= {*HEARD_WORDS, "percent", "volts", "degrees"}
    with_it = bool(text) and rng.random() < 0.5
    numbers: tuple[NumberSlot, ...] = ()
    if is_number and with_it:
        numbers = (_slot(),)
    elif with_it:
        words.add(text)
    if not is_number and rng.random() < 0.3:
        numbers = (_slot(),)
    phrases = tuple(Phrase(word, word, 2.0) for word in sorted(words) if word)
    return Grammar(1, phrases, numbers)


def _slot() -> NumberSlot:
    units = ("percent", "volts", "degrees")
    return NumberSlot("value", Decimal(0), Decimal(9999), 1, units=units, certainty=2.0)


def examples(
    model: AcousticModel,
    lag: Lag,
    clips: Sequence[Clip],
    noises: Sequence[Clip],
    pool: Sequence[str],
    seed: int,
) -> Iterator[Example]:
    """Examples of all clips; those without a text are talk, never right.

    `pool`: the texts from which the other answers of a grammar are drawn.
    """
    for clip in clips:
        rng = random.Random(zlib.crc32(f"{seed}/{clip.place}/{clip.text}".encode()))
        sound = mixed(pad(clip, 0.5, 1.0), noises, rng.choice(SNRS))
        stream = model.stream()
        rows = np.concatenate([stream.push(sound), stream.finish()])
        text = plain(clip.text) if clip.text and "intent only" not in clip.text else ""
        for _ in range(GRAMMARS if text else TALK_GRAMMARS):
            grammar = GrammarMachine(grammar_for(text, pool, rng))
            for said, measures in utterances(rows, sound, grammar, lag):
                right = bool(text) and grammar.meaning(said) == grammar.meaning(text)
                yield Example(measures, right, clip.speaker)


def _collect(
    job: tuple[Path, Sequence[Clip], Sequence[Clip], Sequence[str], int],
) -> list[Example]:
    folder, clips, noises, pool, seed = job
    return list(examples(AcousticModel(folder), Lag.read(folder), clips, noises, pool, seed))


def weighed(right: np.ndarray) -> np.ndarray:
    """What each example counts, so that MEANT of them are right."""
    share = right.mean()
    return np.where(right > 0, MEANT / share, (1 - MEANT) / (1 - share))


def fit(measures: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Weights of a logistic regression; one that would reward a worse match is left out.

    Measures that tell nearly the same may share their weight out with opposite signs, which
    fits the examples a little better and trusts a bad match that is unlike any of them.
    """
    kept = np.arange(measures.shape[1])
    while True:
        weights = np.zeros(measures.shape[1])
        weights[kept] = _newton(measures[:, kept], right)
        astray = weights * np.array(SIGNS) < 0
        if not astray.any():
            return weights
        kept = kept[~astray[kept]]


def _newton(measures: np.ndarray, right: np.ndarray) -> np.ndarray:
    weights = np.zeros(measures.shape[1])
    counts = weighed(right)
    for _ in range(30):
        chance = 1 / (1 + np.exp(-measures @ weights))
        slope = measures.T @ (counts * (right - chance)) - RIDGE * weights
        curve = (measures * (counts * chance * (1 - chance))[:, None]).T @ measures
        weights = weights + np.linalg.solve(curve + RIDGE * np.eye(len(weights)), slope)
    return weights


def report(weights: np.ndarray, held: Sequence[Example]) -> dict[str, float]:
    """How good the certainty is on examples that were not fitted."""
    confidence = Confidence(tuple(weights))
    return figures_of([(confidence.of(example.measures), example.right) for example in held])


def figures_of(pairs: Sequence[tuple[float, bool]]) -> dict[str, float]:
    """Calibration error, and what would be accepted of right and wrong."""
    accepted = [right for certainty, right in pairs if certainty >= 0.5]
    sure = [right for certainty, right in pairs if certainty >= 0.7]
    return {
        "examples": len(pairs),
        "right": sum(right for _, right in pairs),
        "calibration_error": round(_calibration(pairs), 4),
        "right_accepted_at_0.5": sum(accepted),
        "wrong_accepted_at_0.5": len(accepted) - sum(accepted),
        "right_accepted_at_0.7": sum(sure),
        "wrong_accepted_at_0.7": len(sure) - sum(sure),
    }


def _calibration(pairs: Sequence[tuple[float, bool]]) -> float:
    """The error where right and wrong are as frequent as in the fit."""
    counts = weighed(np.array([right for _, right in pairs], float))
    often = np.maximum(1, np.round(10 * counts)).astype(int)
    return calibration_error(
        [pair for pair, times in zip(pairs, often, strict=True) for _ in range(times)]
    )


def write(
    model: Path,
    speech: Sequence[Path],
    talk: Sequence[Path],
    noise: Sequence[Path],
    most: int,
    jobs: int,
) -> None:
    """Collect, fit, hold out speakers, write; at most `most` recordings of each set."""
    noises = [clip for path in noise for clip in read_set(path)]
    sets = {path: one_in(read_set(path), most) for path in [*speech, *talk]}
    for path in talk:
        sets[path] = [replace(clip, text="") for clip in sets[path]]
    texts = {plain(clip.text) for clips in sets.values() for clip in clips}
    pool = sorted(text for text in texts if 0 < len(text.split()) <= 4)
    work = [
        (model, clips[begin : begin + 40], noises, pool, zlib.crc32(path.name.encode()))
        for path, clips in sets.items()
        for begin in range(0, len(clips), 40)
    ]
    with ProcessPoolExecutor(jobs) as workers:
        found = [example for part in workers.map(_collect, work) for example in part]
    held = [e for e in found if zlib.crc32(e.speaker.encode()) % 3 == 0]
    seen = [e for e in found if zlib.crc32(e.speaker.encode()) % 3]
    weights = fit(np.array([e.measures for e in seen]), np.array([e.right for e in seen], float))
    about = report(weights, held)
    print(json.dumps(about, indent=1))
    written = {
        "weights": {name: round(float(w), 4) for name, w in zip(MEASURES, weights, strict=True)},
        "held_out_speakers": about,
        "sets": [path.name for path in [*speech, *talk, *noise]],
    }
    (model / "confidence.json").write_text(json.dumps(written, indent=1) + "\n")


def main() -> None:
    """Read the options."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--model", type=Path, required=True)
    parser.add_argument("--speech", type=Path, action="append", required=True)
    parser.add_argument("--talk", type=Path, action="append", default=[])
    parser.add_argument("--noise", type=Path, action="append", required=True)
    parser.add_argument("--most", type=int, default=1200, help="recordings of each set")
    parser.add_argument("--jobs", type=int, default=1, help="processes at a time")
    asked = parser.parse_args()
    write(asked.model, asked.speech, asked.talk, asked.noise, asked.most, asked.jobs)


if __name__ == "__main__":
    main()
