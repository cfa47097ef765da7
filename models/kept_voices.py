"""Voices that the model never heard say an aircraft's answers, or numbers: sets for the benches.

Rule of this file: Kokoro's kept voices alone (models.training.prepare.DEV_VOICES) and the blend
of the two, which is a voice of its own.

    python -m models.kept_voices --kokoro kokoro.onnx --styles DIR --aircraft FILE.yaml OUT.json
    python -m models.kept_voices --kokoro kokoro.onnx --styles DIR --numbers 60 OUT.json

writes OUT.json and OUT.ogg; about 0.4 s of one core for a second of speech.
"""

from __future__ import annotations

import argparse
import json
import random
from pathlib import Path

import numpy as np

from callout.benches.answers import wanted
from callout.checklist.load import load
from callout.words.number_words import PLAIN_DIGITS
from models.training.prepare import DEV_VOICES
from models.training.speak import RATE, opened, trimmed

BLEND = 0.5
SPEEDS = (0.9, 1.0, 1.15)


def spoken(kokoro: Path, tokens: list[int], style: np.ndarray, speed: float) -> np.ndarray:
    """One text by one voice at 16 kHz, peak 0.6."""
    import soxr

    feed = {
        "tokens": np.array([[0, *tokens, 0]], np.int64),
        "style": style[None].astype(np.float32),
        "speed": np.array([speed], np.float32),
    }
    sound = opened(kokoro).run(None, feed)[0].reshape(-1)
    sound = trimmed(soxr.resample(sound, 24_000, RATE))
    return (0.6 * sound / np.abs(sound).max()).astype(np.float32)


def texts(aircraft: Path | None, count: int) -> list[str]:
    """What is said: each answer once, or numbers drawn at random."""
    if aircraft is not None:
        return sorted({answer.text for answer in wanted(load(aircraft))})
    rng = random.Random(11)
    digits = [
        [rng.choice(PLAIN_DIGITS) for _ in range(rng.choice((2, 3, 4)))] for _ in range(count)
    ]
    return [" ".join(number) for number in digits]


def main() -> None:
    """Speak and write."""
    import hibari
    import soundfile
    from hibari.g2p import G2P

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kokoro", type=Path, required=True)
    parser.add_argument("--styles", type=Path, required=True, help="folder with VOICE.bin")
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--aircraft", type=Path, help="whose answers are said")
    what.add_argument("--numbers", type=int, help="so many numbers of two to four digits")
    parser.add_argument("out", type=Path)
    asked = parser.parse_args()
    assets = Path(hibari.__file__).parent / "assets"
    vocabulary = json.loads((assets / "vocab.json").read_text(encoding="utf-8"))
    voices = {
        name: np.fromfile(asked.styles / f"{name}.bin", np.float32).reshape(-1, 256)
        for name in DEV_VOICES
        if (asked.styles / f"{name}.bin").is_file()
    }
    first, second = list(voices)[:2]
    voices[f"{first}~{second}"] = (1 - BLEND) * voices[first] + BLEND * voices[second]
    readers = {False: G2P(), True: G2P(british=True)}
    rng = random.Random(7)
    sounds, notes = [], []
    for text in texts(asked.aircraft, asked.numbers):
        for name, style in voices.items():
            read = readers[name[0] == "b"](text)
            phonemes = read if isinstance(read, str) else read[0]
            tokens = [vocabulary[c] for c in phonemes if c in vocabulary]
            sounds.append(spoken(asked.kokoro, tokens, style[len(tokens)], rng.choice(SPEEDS)))
            notes.append(
                {
                    "text": text,
                    "samples": len(sounds[-1]),
                    "speaker": name,
                    "source": "synthetic, Kokoro-82M (Apache-2.0)",
                    "licence": "Apache-2.0",
                }
            )
    whole = np.concatenate(sounds)
    soundfile.write(asked.out.with_suffix(".ogg"), whole, RATE, format="OGG", subtype="OPUS")
    asked.out.write_text(json.dumps(notes, indent=0) + "\n", encoding="utf-8")
    print(f"{len(notes)} recordings, {len(whole) / RATE / 60:.1f} min, {len(voices)} voices")


if __name__ == "__main__":
    main()
