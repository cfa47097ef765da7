"""How often a word that is nearly an answer is heard as the answer: near.py, by a kept voice.

Rule of this file: it measures and changes nothing. Each pair of an answer and
a text like it is a choice of two, by exact CTC score; the answer itself is set
against all that is like it. A grammar has more ways to refuse, so this tells
how one set of weights differs from another, not how often something ticks.

    python -m models.training.nearness --data DIR --kokoro kokoro.onnx --styles DIR \\
        --voice am_puck --answers closed,safe,locked --model models [--model OTHER]
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from callout.ear.acoustic import AcousticModel
from models.kept_voices import spoken
from models.training import near
from models.training.evaluate import HELICOPTERS, clips, mixed
from models.training.prepare import DEV_VOICES
from models.training.scoring import forward_scores, ways

RATIOS = (None, 10.0, 0.0)


def parse() -> argparse.Namespace:
    """The options."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--data", type=Path, required=True, help="sets and index.npz, for noise")
    options.add_argument("--kokoro", type=Path, required=True)
    options.add_argument("--styles", type=Path, required=True, help="folder with VOICE.bin")
    options.add_argument("--voice", choices=DEV_VOICES[:2], required=True)
    options.add_argument("--answers", type=lambda text: text.split(","), default=sorted(near.ALIKE))
    options.add_argument("--model", type=Path, action="append", required=True)
    return options.parse_args()


def said(asked: argparse.Namespace) -> Iterator[tuple[str, str, np.ndarray]]:
    """(answer, text, sound) of each answer and of each text like it."""
    import hibari
    from hibari.g2p import G2P

    assets = Path(hibari.__file__).parent / "assets"
    vocabulary = json.loads((assets / "vocab.json").read_text(encoding="utf-8"))
    style = np.fromfile(asked.styles / f"{asked.voice}.bin", np.float32).reshape(-1, 256)
    reader = G2P(british=asked.voice[0] == "b")
    for answer in asked.answers:
        for text in (answer, *near.ALIKE[answer].split("|")):
            read = reader(text)
            phonemes = read if isinstance(read, str) else read[0]
            tokens = [vocabulary[c] for c in phonemes if c in vocabulary]
            yield answer, text, spoken(asked.kokoro, tokens, style[len(tokens)], 1.0)


def best(rows: np.ndarray, texts: list[str]) -> str:
    """Which of the texts the rows of log-probabilities show best."""
    scores = {t: np.logaddexp.reduce(forward_scores(rows, list(ways(t)))) for t in texts}
    return max(scores, key=lambda text: scores[text])


def main() -> None:
    """Speak, hear, count."""
    asked = parse()
    models = {folder: AcousticModel(folder) for folder in asked.model}
    every = clips(asked.data / "sets", asked.data / "index.npz", "noise")
    noises = [noise[2] for noise in every if noise[3] in HELICOPTERS]
    rng = np.random.default_rng(3)
    counts: Counter[tuple[object, ...]] = Counter()
    for answer, text, sound in said(asked):
        own = text == answer
        texts = [answer, *near.ALIKE[answer].split("|")] if own else [answer, text]
        for ratio in RATIOS:
            noise = None if ratio is None else noises[rng.integers(len(noises))]
            whole = mixed(sound, noise, ratio or 0.0, rng)
            counts[ratio, own] += 1
            for folder, model in models.items():
                stream = model.stream()
                rows = np.concatenate([stream.push(whole), stream.finish()])
                counts[ratio, own, folder] += best(rows, texts) == answer
    for ratio in RATIOS:
        where = "clean" if ratio is None else f"{ratio:g} dB"
        for folder in models:
            print(
                f"{where:6} {folder!s:20} taken for the answer "
                f"{counts[ratio, False, folder]:4} of {counts[ratio, False]:4}, "
                f"answers kept {counts[ratio, True, folder]:3} of {counts[ratio, True]:3}"
            )


if __name__ == "__main__":
    main()
