"""What the PocketSphinx ear accepts and refuses, and the weights of its certainty.

Run:  python tests/ear/measure_pocketsphinx.py --answers A.json ... --talk T.json ...
          --noise N.json [--most 400] [--fit]

`--answers` are sets of recorded words with their text: every second one is not
in the grammar; a number that is in it is in it as a slot.
`--talk` are sets of talk that is not meant for the program. Each recording is
mixed at clean, 20 dB or 10 dB in turn, cut by the endpointer and decoded against
the universal words, three other phrases of the set and, for numbers, a slot.
`--fit` prints weights for callout/ear/confidence.py, and figures by five-fold
cross-validation over speakers; without it the figures are those of the weights there.

Measured with --most 300 --fit on Speech Commands test words of 124 people
(words-a), synthetic phrases (made-kokoro), talk of 81 people and helicopter,
drone, turbine and machine noise; accepted at certainty 0.5 (ordinary items) and
0.7 (killer items), in per cent of utterances:

                                      clean       20 dB       10 dB
    words, right / wrong    at 0.5   66 / 4      52 / 2      35 / 4
                            at 0.7   56 / 2      32 / 0      24 / 2
    phrases, right / wrong  at 0.5   84 / 2      88 / 0      70 / 0
                            at 0.7   84 / 0      82 / 0      64 / 0
    other words, wrong      at 0.5       16           6           2
                            at 0.7        4           2           2
    other phrases, wrong    at 0.5        2           6           6
                            at 0.7        0           4           4
    talk, wrong             at 0.5        6           5           3
                            at 0.7        0           3           0

Expected calibration error 0.035 over 674 guesses. About 45 phrases counted at
once. Each cell is of 35 to 51 utterances, so it is good to about 10 in a hundred.
"""

from __future__ import annotations

import argparse
import time
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.ear.confidence import BIAS, WEIGHTS, Evidence
from callout.ear.endpoint import RATE, Endpointer, Utterance
from callout.ear.pocketsphinx_ear import PocketSphinxDecoder, unknown_words
from callout.running.recording_sets import Clip, mixed, one_in, pad, read_set
from callout.words.phrases import Grammar, NumberSlot, Phrase
from callout.words.understand import plain, understand
from callout.words.universal import Word, forms

CONDITIONS = (None, 20.0, 10.0)
FOLDS = 5
LEVEL = 0.3
SLOT = NumberSlot("number", Decimal(0), Decimal(9999), 2, units=("volts", "percent", "amps"))
SAME = {"standby": "stand by"}
TIMES: list[tuple[float, float, float]] = []
"""Seconds to compile each grammar, to decode each utterance, and that the utterance lasts."""


@dataclass(frozen=True)
class Row:
    """One utterance: where it is from, whether the guess was what was said, and why."""

    kind: str
    snr: float | None
    speaker: str
    right: bool
    understood: bool
    evidence: Evidence | None


def universal() -> list[str]:
    return [text for word in Word for text in forms(word)]


def grammar_for(clip: Clip, others: list[str], *, inside: bool) -> Grammar:
    """What counts when this clip is played; `inside` says whether it is an answer."""
    random = np.random.default_rng(zlib.crc32(f"grammar {clip.place}".encode()))
    texts = [text for text in others if text != clip.text]
    chosen = [texts[i] for i in random.choice(len(texts), 3, replace=False)]
    number = understand(Grammar(0, (), (SLOT,)), clip.text) is not None
    if inside and not number:
        chosen.append(clip.text)
    phrases = dict.fromkeys([*universal(), *chosen])
    if not inside:
        phrases.pop(clip.text, None)
    slots = (SLOT,) if inside and number else ()
    return Grammar(1, tuple(Phrase(text, text) for text in phrases), slots)


def utterances(sound: Samples) -> Iterator[Utterance]:
    endpointer = Endpointer()
    endpointer.patience = 0.5
    tail = np.zeros(RATE, np.float32)
    for piece in np.split(np.concatenate([sound, tail]), range(320, len(sound) + RATE, 320)):
        at = endpointer._ends_at or 0.0
        yield from endpointer.feed(AudioBlock(piece, RATE, at))


def answers(decoder: PocketSphinxDecoder, path: Path, noises: list[Clip], most: int) -> list[Row]:
    clips = [clip for clip in read_set(path) if clip.text and len(clip.text.split()) <= 8]
    short = sorted({clip.text for clip in clips if len(clip.text.split()) <= 4})
    short = [text for text in short if not unknown_words(Grammar(0, (Phrase(text, "x"),)))][:300]
    rows = []
    for place, clip in enumerate(one_in(clips, most)):
        inside = place % 2 == 0
        snr = CONDITIONS[place // 2 % 3]
        grammar = grammar_for(clip, short, inside=inside)
        kind = f"{path.stem} {'answers' if inside else 'others'}"
        rows += decoded(decoder, kind, clip, grammar, noises, snr)
    return rows


def talk(
    decoder: PocketSphinxDecoder, path: Path, noises: list[Clip], most: int, texts: list[str]
) -> list[Row]:
    rows = []
    for place, clip in enumerate(one_in(read_set(path), most)):
        bare = Clip("", clip.speaker, clip.samples, clip.place)
        grammar = grammar_for(bare, texts, inside=False)
        grammar = Grammar(1, grammar.phrases, (SLOT,) if place % 2 else ())
        rows += decoded(decoder, path.stem, bare, grammar, noises, CONDITIONS[place % 3])
    return rows


def decoded(
    decoder: PocketSphinxDecoder,
    kind: str,
    clip: Clip,
    grammar: Grammar,
    noises: list[Clip],
    snr: float | None,
) -> Iterator[Row]:
    loud = Clip(
        clip.text,
        clip.speaker,
        clip.samples * (LEVEL / max(1e-6, float(np.abs(clip.samples).max()))),
        clip.place,
    )
    for utterance in utterances(mixed(pad(loud, 0.5, 0.7), noises, snr)):
        if not utterance.whole:
            yield Row(kind, snr, clip.speaker, False, False, None)
            continue
        began = time.perf_counter()
        decoder.prepare(grammar)
        prepared = time.perf_counter()
        text, evidence = decoder.weigh(utterance.sound.samples, grammar)
        TIMES.append((prepared - began, time.perf_counter() - prepared, utterance.sound.seconds))
        text = plain(text)
        understood = bool(text) and understand(grammar, text) is not None
        right = understood and same(text, clip.text)
        yield Row(kind, snr, clip.speaker, right, understood, evidence)


def same(text: str, said: str) -> bool:
    return SAME.get(text, text) == SAME.get(plain(said), plain(said))


def fit(features: np.ndarray, right: np.ndarray) -> tuple[np.ndarray, float]:
    """Logistic regression by Newton's method, with a little ridge; weights and bias."""
    middle, spread = features.mean(0), features.std(0) + 1e-9
    scaled = np.c_[(features - middle) / spread, np.ones(len(features))]
    ridge = 0.01 * len(features) * np.diag([*np.ones(features.shape[1]), 0.0])
    weights = np.zeros(scaled.shape[1])
    for _ in range(50):
        chance = 1 / (1 + np.exp(-scaled @ weights))
        slope = scaled.T @ (chance - right) + ridge @ weights
        bend = (scaled * (chance * (1 - chance))[:, None]).T @ scaled + ridge
        weights -= np.linalg.solve(bend, slope)
    plain_weights = weights[:-1] / spread
    return plain_weights, float(weights[-1] - plain_weights @ middle)


def chances(rows: list[Row], *, refit: bool) -> np.ndarray:
    """The certainty of each row: by the weights in use, or cross-validated over speakers."""
    features = np.array([row.evidence.features() for row in rows if row.evidence])
    right = np.array([float(row.right) for row in rows])
    if not refit:
        return 1 / (1 + np.exp(-(features @ np.array(WEIGHTS) + BIAS)))
    folds = np.array([zlib.crc32(row.speaker.encode()) % FOLDS for row in rows])
    made = np.zeros(len(rows))
    for fold in range(FOLDS):
        weights, bias = fit(features[folds != fold], right[folds != fold])
        made[folds == fold] = 1 / (1 + np.exp(-(features[folds == fold] @ weights + bias)))
    weights, bias = fit(features, right)
    print("WEIGHTS =", tuple(round(float(weight), 4) for weight in weights))
    print("BIAS =", round(bias, 3))
    return made


def report(rows: list[Row], sure: dict[int, float]) -> None:
    print(f"{'set':28} {'dB':>5} {'n':>5}   heard right / wrong at 0.5     at 0.7     at 0.9")
    for kind in dict.fromkeys(row.kind for row in rows):
        for snr in CONDITIONS:
            mine = [i for i, row in enumerate(rows) if (row.kind, row.snr) == (kind, snr)]
            cells = []
            for least in (0.5, 0.7, 0.9):
                taken = [i for i in mine if rows[i].understood and sure.get(i, 0.0) >= least]
                good = sum(rows[i].right for i in taken)
                share = 100 / max(1, len(mine))
                cells.append(f"{good * share:4.0f} / {(len(taken) - good) * share:4.1f} %")
            name = "clean" if snr is None else f"{snr:.0f}"
            print(f"{kind:28} {name:>5} {len(mine):5}   " + "   ".join(cells))


def calibration(rows: list[Row], sure: dict[int, float]) -> float:
    """Expected calibration error over ten bins of equal width."""
    pairs = [(chance, rows[i].right) for i, chance in sure.items()]
    error = 0.0
    for low in np.arange(0, 1, 0.1):
        bin_ = [(c, r) for c, r in pairs if low <= c < low + 0.1 or (c == 1.0 and low == 0.9)]
        if bin_:
            gap = abs(np.mean([c for c, _ in bin_]) - np.mean([r for _, r in bin_]))
            error += gap * len(bin_) / len(pairs)
    return float(error)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--answers", type=Path, nargs="+", required=True)
    parser.add_argument("--talk", type=Path, nargs="*", default=[])
    parser.add_argument("--noise", type=Path, required=True)
    parser.add_argument("--most", type=int, default=400)
    parser.add_argument("--fit", action="store_true")
    given = parser.parse_args()
    decoder, noises = PocketSphinxDecoder(), read_set(given.noise)
    rows: list[Row] = []
    for path in given.answers:
        rows += answers(decoder, path, noises, given.most)
    texts = sorted({clip.text for clip in read_set(given.answers[-1])})
    texts = [text for text in texts if 0 < len(text.split()) <= 4][:300]
    for path in given.talk:
        rows += talk(decoder, path, noises, given.most // 4, texts)
    weighed = [i for i, row in enumerate(rows) if row.evidence and row.understood]
    made = chances([rows[i] for i in weighed], refit=given.fit)
    sure = dict(zip(weighed, map(float, made), strict=True))
    report(rows, sure)
    prepare, decode, lasts = np.array(TIMES).T
    print(
        f"compile: median {np.median(prepare) * 1e3:.1f} ms, longest {prepare.max() * 1e3:.1f} ms"
    )
    print(f"decode: {decode.sum() / lasts.sum():.3f} s a second of utterance")
    print(f"expected calibration error {calibration(rows, sure):.3f} over {len(sure)} guesses")


if __name__ == "__main__":
    main()
