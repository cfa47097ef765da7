"""Free words out of a recording, where an engine for that is installed.

Rule of this file: what comes out was understood by a machine from noisy talk; it is
unverified text for people and never goes near an item. Nothing is fetched: a model
is a folder on this disk, and what is in it says which engine it is for.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.ear.models import installed, models_folder
from callout.ear.problems import EarProblem, ModelProblem

VOSK, WHISPER = "Vosk", "faster-whisper"

_PARTS = {
    VOSK: (("am/final.mdl", "final.mdl"), ("conf/mfcc.conf", "mfcc.conf")),
    WHISPER: (("model.bin",), ("config.json",), ("tokenizer.json",)),
}
"""What a model's folder holds, each under one of these names.

A Vosk model for dictation needs no graph that takes phrases: the large ones have none.
Without its tokenizer.json faster-whisper would ask the internet for one.
"""

_INSTALL = {VOSK: "pip install vosk", WHISPER: "pip install 'callout[dictation]'"}


@dataclass(frozen=True, slots=True)
class Dictation:
    """An engine with its model.

    Fields:
        by: who wrote it down, for the record: engine and model
        words: 16 kHz sound -> words; "" where nothing was understood
    """

    by: str
    words: Callable[[AudioBlock], str]


def dictation(model: Path | None, models: Path | None = None, language: str = "en") -> Dictation:
    """The engine for a model, loaded.  Raises EarProblem.

    `model` is a folder or a name in the folder of models; the only one there if None.
    `language` is what is spoken, for a model that knows several.
    """
    folder = _found(model, models_folder(models))
    engine = engine_of(folder)
    make = _vosk if engine == VOSK else _whisper
    try:
        words = make(folder, language)
    except ImportError as problem:
        raise EarProblem(
            f"The model {folder.name} needs {engine}, which is not installed: {_INSTALL[engine]}"
        ) from problem
    return Dictation(f"{engine}, {folder.name}", words)


def engine_of(model: Path) -> str:
    """Which engine a model's folder is for; "" for none."""
    for engine, parts in _PARTS.items():
        if all(any((model / name).is_file() for name in names) for names in parts):
            return engine
    return ""


def _found(wanted: Path | None, folder: Path) -> Path:
    if wanted is not None:
        model = wanted if wanted.exists() else folder / wanted
        if not model.exists():
            raise ModelProblem(f"There is no model at {wanted}, and none of that name in {folder}.")
        if not engine_of(model):
            raise ModelProblem(
                f"{model} is no model for dictation: expected a folder with am/final.mdl and "
                "conf/mfcc.conf (Vosk), or model.bin, config.json and tokenizer.json "
                "(faster-whisper)."
            )
        return model
    usable = [model for model in installed(folder) if engine_of(model)]
    if not usable:
        raise ModelProblem(
            "Writing down a recording needs a model for dictation, and there is none in "
            f"{folder}. Get one with: callout model fetch vosk-small-en-us; or name the folder "
            "of one with --model FOLDER."
        )
    if len(usable) > 1:
        names = ", ".join(model.name for model in usable)
        raise ModelProblem(f"There are several models, say which one with --model: {names}.")
    return usable[0]


def _vosk(folder: Path, language: str) -> Callable[[AudioBlock], str]:
    """Vosk without phrases: the model's own language decides."""
    del language
    import vosk

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


def _whisper(folder: Path, language: str) -> Callable[[AudioBlock], str]:
    """faster-whisper, on the processor, from this disk alone."""
    os.environ["HF_HUB_OFFLINE"] = "1"  # read when it is imported: nothing is looked up
    os.environ["HF_HUB_DISABLE_TELEMETRY"] = "1"
    import faster_whisper

    try:
        loaded = faster_whisper.WhisperModel(
            str(folder), device="cpu", compute_type="int8", local_files_only=True
        )
    except (RuntimeError, ValueError, OSError) as refused:
        raise EarProblem(f"faster-whisper cannot load the model {folder}: {refused}.") from refused

    def words(block: AudioBlock) -> str:
        # Each stretch by itself: what it thought it heard before is no help with a defect.
        found, _ = loaded.transcribe(
            block.samples.astype(np.float32), language=language, beam_size=5,
            condition_on_previous_text=False,
        )  # fmt: skip
        return " ".join(" ".join(part.text for part in found).split())

    return words
