"""Kokoro's voices, in which the people of the recorded flying day speak."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import soxr

RATE = 16_000
"""Samples a second, of the voices and of the microphone that hears them."""

SPEEDS = (0.95, 0.8, 1.1)
"""How fast a voice speaks: as ever; and slower and faster, when nobody is clear."""


@dataclass
class Voices:
    """Kokoro's voices; one sentence is made once."""

    kokoro: Path
    styles: Path
    made: dict[tuple[str, str], np.ndarray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        import hibari
        import onnxruntime
        from hibari.g2p import G2P

        self.session = onnxruntime.InferenceSession(str(self.kokoro))
        assets = Path(hibari.__file__).parent / "assets/vocab.json"
        self.vocabulary = json.loads(assets.read_text(encoding="utf-8"))
        self.readers = {False: G2P(), True: G2P(british=True)}

    def say(self, text: str, spoken: str) -> np.ndarray:
        """The text in a voice ("am_puck" or "am_puck/0.8", its speed), 16 kHz, trimmed, RMS 0.1."""
        voice, _, speed = spoken.partition("/")
        if (text, spoken) not in self.made:
            read = self.readers[voice[0] == "b"](text)
            phonemes = read if isinstance(read, str) else read[0]
            tokens = [self.vocabulary[c] for c in phonemes if c in self.vocabulary]
            style = np.fromfile(self.styles / f"{voice}.bin", np.float32).reshape(-1, 256)
            feed = {
                "tokens": np.array([[0, *tokens, 0]], np.int64),
                "style": style[len(tokens)][None],
                "speed": np.array([speed or SPEEDS[0]], np.float32),
            }
            sound = soxr.resample(self.session.run(None, feed)[0].reshape(-1), 24_000, RATE)
            loud = np.flatnonzero(np.abs(sound) > 0.01 * np.abs(sound).max())
            sound = sound[max(0, loud[0] - 800) : loud[-1] + 1600]
            sound *= 0.1 / np.sqrt(np.mean(sound**2))
            self.made[text, spoken] = sound.astype(np.float32)
        return self.made[text, spoken]
