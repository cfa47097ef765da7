"""The voice of hibari-tts: a small neural one, Apache-2.0, all inside its wheel.

Rule of this file: the library is imported and its model loaded when the first
sentence is made, so that a session whose clips are all cached never waits for
it. Only the voice inside the wheel is used: nothing is ever downloaded.
"""

from __future__ import annotations

import threading
from importlib import metadata
from typing import Any

import numpy as np

from callout.audio_block import AudioBlock
from callout.spelling import speller
from callout.voice.protocol import VoiceLost

_INSTALL = "install it with: pip install hibari-tts"
_VOICE = "heart"
_SEED = 0  # the breath noise is random; a fixed seed gives the same samples every time


class HibariVoice:
    """One hibari voice; safe to call from several threads (one sentence at a time).

    Args:
        speed: 1.0 is the library's own pace, 0.5 .. 2.0
        model: another ONNX file with the same inputs and outputs ("" for the one in the wheel)

    Raises VoiceLost when hibari-tts is not installed.
    """

    name = "hibari"

    def __init__(self, speed: float = 1.0, model: str = "") -> None:
        try:
            version = metadata.version("hibari-tts")
        except metadata.PackageNotFoundError:
            raise VoiceLost(f"The voice hibari is not installed; {_INSTALL}") from None
        self.identity = f"hibari {version} {model or _VOICE} speed {speed:g} seed {_SEED}"
        self._speed = speed
        self._model = model
        self._engine: Any = None
        self._lock = threading.Lock()

    def synthesise(self, sentence: str) -> AudioBlock:
        """The sentence as sound, mono, 24 kHz.  Raises VoiceLost."""
        with self._lock:
            engine = self._loaded()
            try:
                samples = engine(sentence, speed=self._speed, seed=_SEED)
            except Exception as error:
                raise VoiceLost(f'The voice hibari could not say "{sentence}": {error}') from error
        if not len(samples):
            raise VoiceLost(f'The voice hibari finds nothing to say in "{sentence}"')
        return AudioBlock(np.asarray(samples, np.float32), int(engine.sample_rate))

    def _loaded(self) -> Any:  # noqa: ANN401 - the library has no types
        if self._engine is None:
            try:
                from hibari import Hibari

                model = self._model or None
                self._engine = Hibari(voice=_VOICE, model=model, threads=1, g2p=speller())
                self._engine.sess = _Shrinking(self._engine.sess)
            except ImportError as error:
                raise VoiceLost(f"The voice hibari cannot start ({error}); {_INSTALL}") from error
            except Exception as error:
                where = self._model or "the installed package"
                raise VoiceLost(f"The voice hibari cannot load {where}: {error}") from error
        return self._engine


class _Shrinking:
    """An onnxruntime session that keeps no memory of its longest sentence."""

    def __init__(self, session: Any) -> None:  # noqa: ANN401 - the library has no types
        from onnxruntime import RunOptions

        self._session = session
        self._options = RunOptions()
        self._options.add_run_config_entry("memory.enable_memory_arena_shrinkage", "cpu:0")

    def run(self, outputs: Any, inputs: Any) -> Any:  # noqa: ANN401
        """As onnxruntime's own `run`."""
        return self._session.run(outputs, inputs, self._options)
