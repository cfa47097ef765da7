"""Synthetic voices say the texts of phrases.py: Kokoro-82M and blends of its styles.

Rule of this file: it plans on one machine (texts to tokens, which needs the
grapheme-to-phoneme step of hibari-tts) and speaks on another (which needs
onnxruntime alone), part by part; it can be stopped at any time. Style vectors
of other languages' voices read English phonemes too, which sounds like an accent.

    python -m models.training.speak plan --styles DIR --count 12000 --seed 1 plan.npz
    python -m models.training.speak run --kokoro kokoro.onnx --workers 14 --minutes 8 plan.npz OUT
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import random
import time
from concurrent.futures import ProcessPoolExecutor
from functools import cache, partial
from pathlib import Path
from typing import Any

import numpy as np

RATE = 16_000
LONGEST = 110
"""Most tokens of a text; the style vector is chosen by this length."""
PER_PART = 12


def blend(rng: random.Random, names: list[str]) -> tuple[int, int, float]:
    """Two voices and the share of the second; mostly English ones."""
    english = [n for n, name in enumerate(names) if name[0] in "ab"]
    everyone = range(len(names))
    first = rng.choice(everyone if rng.random() < 0.35 else english)
    second = rng.choice(everyone if rng.random() < 0.35 else english)
    # Beyond the first voice, away from the second, is a voice too.
    return first, second, round(rng.uniform(-0.3, 0.6), 2)


def plan(options: argparse.Namespace) -> None:
    """Write texts, tokens, voices and speeds, and the styles in half precision."""
    import hibari
    from hibari.g2p import G2P

    from models.training.phrases import text
    from models.training.prepare import DEV_VOICES
    from models.training.pronounce import common_words

    rng = random.Random(options.seed)
    assets = Path(hibari.__file__).parent / "assets"
    vocabulary = json.loads((assets / "vocab.json").read_text(encoding="utf-8"))
    names = sorted(p.stem for p in options.styles.glob("*.bin") if p.stem not in DEV_VOICES)
    files = [options.styles / f"{n}.bin" for n in names]
    styles = [np.fromfile(f, np.float32).reshape(-1, 256)[: LONGEST + 1] for f in files]
    readers = {False: G2P(), True: G2P(british=True)}
    common, known, rows = common_words(), {}, []
    while len(rows) < options.count:
        said = text(rng, common)
        first, second, share = blend(rng, names)
        british = names[first][0] == "b"
        if (said, british) not in known:
            read = readers[british](said)
            phonemes = read if isinstance(read, str) else read[0]
            known[said, british] = [vocabulary[c] for c in phonemes if c in vocabulary]
        tokens = known[said, british]
        if 0 < len(tokens) <= LONGEST:
            speed = round(rng.uniform(0.75, 1.3), 2)
            rows.append((said, tokens, first, second, share, speed))
    np.savez_compressed(
        options.plan,
        rows=json.dumps(rows),
        names=np.array(names),
        styles=np.stack(styles).astype(np.float16),
    )


def trimmed(sound: np.ndarray, margin: float = 0.06) -> np.ndarray:
    """Cut what is 45 dB under the peak from both ends, but for a margin (s)."""
    loud = np.flatnonzero(np.abs(sound) > 10 ** (-45 / 20) * np.abs(sound).max())
    keep = int(margin * RATE)
    return sound[max(0, loud[0] - keep) : loud[-1] + keep]


@cache
def opened(kokoro: Path) -> Any:
    """The synthesiser, opened once in each process, on one thread."""
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    return onnxruntime.InferenceSession(str(kokoro), options)


HELD: dict[str, Any] = {}
"""The plan, read once in each process."""


def hold(path: Path) -> None:
    """Read the plan."""
    file = np.load(path)
    HELD.update(
        rows=json.loads(str(file["rows"])), names=file["names"].tolist(), styles=file["styles"]
    )


def part(number: int, kokoro: Path, out: Path, until: float) -> tuple[int, float]:
    """Speak one part of the plan, unless the time is up; its number and its seconds."""
    import soundfile
    from scipy.signal import resample_poly

    if time.time() > until:
        return number, 0.0
    held = HELD
    sounds, notes = [], []
    for said, tokens, first, second, share, speed in held["rows"][
        number * PER_PART : (number + 1) * PER_PART
    ]:
        styles = held["styles"][[first, second], len(tokens)].astype(np.float32)
        feed = {
            "tokens": np.array([[0, *tokens, 0]], np.int64),
            "style": ((1 - share) * styles[0] + share * styles[1])[None],
            "speed": np.array([speed], np.float32),
        }
        sound = opened(kokoro).run(None, feed)[0].reshape(-1)
        if not np.isfinite(sound).all() or np.abs(sound).max() < 0.01:
            continue
        sound = trimmed(resample_poly(sound, 2, 3))
        sounds.append((0.6 * sound / np.abs(sound).max()).astype(np.float32))
        speaker = f"{held['names'][first]}~{held['names'][second]}~{share}"
        notes.append(
            {
                "text": said,
                "samples": len(sounds[-1]),
                "speaker": speaker,
                "source": "synthetic, Kokoro-82M (Apache-2.0)",
                "licence": "Apache-2.0",
            }
        )
    base = out / f"made-{number:04}"
    soundfile.write(base.with_suffix(".flac"), np.concatenate(sounds), RATE)
    base.with_suffix(".json").write_text(json.dumps(notes), encoding="utf-8")
    return number, sum(len(s) for s in sounds) / RATE


def run(options: argparse.Namespace) -> None:
    """Speak the plan for some minutes."""
    hold(options.plan)
    options.out.mkdir(parents=True, exist_ok=True)
    until = time.time() + options.minutes * 60
    speak = partial(part, kokoro=options.kokoro, out=options.out, until=until)
    numbers = range(len(HELD["rows"]) // PER_PART)
    forked = multiprocessing.get_context("fork")
    with ProcessPoolExecutor(options.workers, forked) as workers:
        made = list(workers.map(speak, numbers))
    print(f"{sum(s > 0 for _, s in made)} parts, {sum(s for _, s in made) / 60:.0f} min of speech")


def main() -> None:
    """Plan or run."""
    options = argparse.ArgumentParser(description=__doc__)
    kinds = options.add_subparsers(required=True)
    planning = kinds.add_parser("plan")
    planning.add_argument("--styles", type=Path, required=True)
    planning.add_argument("--count", type=int, default=12_000)
    planning.add_argument("--seed", type=int, default=1)
    planning.add_argument("plan", type=Path)
    planning.set_defaults(do=plan)
    running = kinds.add_parser("run")
    running.add_argument("--kokoro", type=Path, required=True)
    running.add_argument("--workers", type=int, default=14)
    running.add_argument("--minutes", type=float, default=8.0)
    running.add_argument("plan", type=Path)
    running.add_argument("out", type=Path)
    running.set_defaults(do=run)
    chosen = options.parse_args()
    chosen.do(chosen)


if __name__ == "__main__":
    main()
