"""Free words out of a recording, where an engine for that is installed.

Rule of this file: what comes out was understood by a machine from noisy talk; it is
unverified text for people and never goes near an item. Nothing is fetched: a model
is a folder on this disk.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.ear.models import models_folder, vosk_model
from callout.ear.problems import EarProblem

Dictation = Callable[[AudioBlock], str]
"""16 kHz sound -> words; "" where nothing was understood."""


def dictation(model: Path | None, models: Path | None = None) -> Dictation:
    """Vosk without phrases: the model's own language decides.  Raises EarProblem.

    `model` is a folder or a name in the folder of models; the only one there if None.
    """
    folder = vosk_model(model, models_folder(models))
    try:
        import vosk
    except ImportError as problem:
        raise EarProblem(
            "Writing down a squawk needs a dictation engine; install one with: pip install vosk"
        ) from problem
    vosk.SetLogLevel(-1)
    try:
        loaded = vosk.Model(model_path=str(folder))
    except Exception as refused:  # vosk raises a bare Exception
        raise EarProblem(f"Vosk cannot load the model {folder}: it is damaged.") from refused

    def words(block: AudioBlock) -> str:
        recogniser = vosk.KaldiRecognizer(loaded, block.rate)
        pcm = (np.clip(block.samples, -1.0, 1.0) * 32767).astype("<i2")
        seconds = (pcm[start : start + block.rate] for start in range(0, len(pcm), block.rate))
        parts = [recogniser.Result() for one in seconds if recogniser.AcceptWaveform(one.tobytes())]
        parts.append(recogniser.FinalResult())
        texts = (str(json.loads(part).get("text", "")) for part in parts)
        return " ".join(text for text in texts if text)

    return words
