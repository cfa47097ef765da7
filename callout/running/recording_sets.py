"""Sets of recordings for measuring ears, and how sound and noise are put together.

Rule of this file: what is heard is settled by the set, the condition and the
place in the set alone, so that every ear hears the same samples in every run.

A set is `NAME.json`, a list of {text, samples, speaker, ...}, and `NAME.ogg`
(or .flac, .wav) beside it: 16 kHz mono, the recordings one after another.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from callout.audio_block import Samples
from callout.running.speech_level import speech_power as speech_power
from callout.words.normal import normalise

RATE = 16_000
"""Samples per second of every set (Hz)."""
SUFFIXES = (".ogg", ".flac", ".wav")


class SetError(Exception):
    """A set cannot be used; the text is for people."""


@dataclass(frozen=True, slots=True)
class Clip:
    """One recording: normalised text ("" for none), speaker, samples at RATE, place in the set."""

    text: str
    speaker: str
    samples: Samples
    place: int

    @property
    def seconds(self) -> float:
        """How long it lasts (s)."""
        return len(self.samples) / RATE


def read_set(path: Path) -> list[Clip]:
    """Read all recordings of a set.  Raises SetError with one sentence."""
    entries = _entries(path)
    sound = _sound(path)
    if sum(entry["samples"] for entry in entries) > len(sound):
        raise SetError(f"{path} lists more samples than its recording holds ({len(sound)}).")
    clips: list[Clip] = []
    begin = 0
    for place, entry in enumerate(entries):
        end = begin + int(entry["samples"])
        text = normalise(str(entry.get("text", "")))
        clips.append(Clip(text, str(entry.get("speaker", "")), sound[begin:end], place))
        begin = end
    return clips


def _entries(path: Path) -> list[dict[str, Any]]:
    try:
        entries: Any = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as problem:
        raise SetError(f"{path} cannot be read as a set's list: {problem}.") from problem
    whole = isinstance(entries, list) and all(
        isinstance(entry, dict) and isinstance(entry.get("samples"), int) for entry in entries
    )
    if not whole or not entries:
        raise SetError(f"{path} is no list of recordings; each needs at least text and samples.")
    return list(entries)


def _sound(path: Path) -> Samples:
    import soundfile

    for suffix in SUFFIXES:
        beside = path.with_suffix(suffix)
        if beside.exists():
            break
    else:
        raise SetError(f"There is no {path.stem}{SUFFIXES[0]} beside {path}.")
    try:
        sound, rate = soundfile.read(beside, dtype="float32")
    except soundfile.LibsndfileError as problem:
        raise SetError(f"{beside} cannot be read as sound: {problem}.") from problem
    if rate != RATE or sound.ndim != 1:
        raise SetError(f"{beside} must be mono at {RATE} Hz.")
    return np.asarray(sound, np.float32)


def one_in(clips: Sequence[Clip], most: int) -> list[Clip]:
    """At most `most` clips, evenly spread over the set (0: all of them)."""
    if not most or len(clips) <= most:
        return list(clips)
    return [clips[round(place * (len(clips) - 1) / (most - 1))] for place in range(most)]


def pad(clip: Clip, before: float, after: float) -> Clip:
    """Return the clip with silence around it (seconds)."""
    silence = [np.zeros(round(seconds * RATE), np.float32) for seconds in (before, after)]
    return replace(clip, samples=np.concatenate([silence[0], clip.samples, silence[1]]))


def mixed(
    clip: Clip, noises: Sequence[Clip], snr: float | None, power: float | None = None
) -> Samples:
    """Mix a clip with noise at a signal-to-noise ratio (dB).

    Speech level: `power`, or the active level by ITU-T P.56 (callout.running.speech_level);
    noise level: mean power of the stretch mixed in, chosen by the clip's place. No ratio is
    the clean recording on a floor of faint random noise (-70 dB of full scale),
    because digital silence exists in no hangar.
    """
    random = np.random.default_rng(zlib.crc32(f"{clip.place}".encode()))
    floor = random.normal(0.0, 10 ** (-70 / 20), len(clip.samples)).astype(np.float32)
    if snr is None or not noises:
        return clip.samples + floor
    noise = _stretch(noises[int(random.integers(len(noises)))].samples, len(clip.samples), random)
    speech = speech_power(clip.samples) if power is None else power
    gain = np.sqrt(speech / (mean_power(noise) * 10 ** (snr / 10) + 1e-12))
    both = clip.samples + np.float32(gain) * noise + floor
    loudest = float(np.abs(both).max(initial=0.0))
    return both / np.float32(max(1.0, loudest / 0.99))


def mean_power(samples: Samples) -> float:
    """Of all of a recording, silence included."""
    return float((samples.astype(np.float64) ** 2).mean())


def _stretch(noise: Samples, length: int, random: np.random.Generator) -> Samples:
    """A stretch of noise, repeated when it is too short."""
    begin = int(random.integers(max(1, len(noise) - length)))
    return np.resize(noise[begin:], length)
