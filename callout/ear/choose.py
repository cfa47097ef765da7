"""Which ear: a name in, an Ear out.

Rule of this file: an ear's module is imported when that ear is asked for, so
that nobody waits for an engine he does not use.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from callout.ear.models import models_folder, vosk_model
from callout.ear.problems import EarProblem
from callout.ear.protocol import Ear

EARS = ("built-in", "pocketsphinx", "vosk", "keys")
"""Names that `make_ear` knows."""


def make_ear(
    name: str,
    model_dir: Path | None = None,
    *,
    models: Path | None = None,
    now: Callable[[], float] = time.monotonic,
) -> Ear:
    """Return the ear of this name, ready to be told what to listen for.

    `model_dir` is a Vosk model: its folder, or its name in the folder of models;
    `models` is that folder, if not the usual one; `now` is the keys ear's clock.
    Raises EarProblem in one sentence.
    """
    if name not in EARS:
        raise EarProblem(f"There is no ear named {name!r}; there are: {', '.join(EARS)}.")
    if name == "built-in":
        return _built_in()
    if name == "keys":
        return _keys(now)
    if name == "vosk":
        return _vosk(vosk_model(model_dir, models_folder(models)))
    return _pocketsphinx()


def _built_in() -> Ear:
    from callout.ear.built_in.ear import open_built_in

    return open_built_in()


def _keys(now: Callable[[], float]) -> Ear:
    from callout.ear.keys_ear import KeysEar

    return KeysEar(now)


def _vosk(model: Path) -> Ear:
    from callout.ear.spoken_ear import SpokenEar
    from callout.ear.vosk_ear import VoskDecoder

    return SpokenEar(VoskDecoder(model))


def _pocketsphinx() -> Ear:
    from callout.ear.pocketsphinx_ear import PocketSphinxDecoder
    from callout.ear.spoken_ear import SpokenEar

    return SpokenEar(PocketSphinxDecoder())
