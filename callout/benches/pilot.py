"""The pilot of a bench: words as sound, and where each of them ends.

Rule of this file: the words are spoken by a voice that is not callout's, or by
recordings that were given; their end is found in the clip by its level alone, so
that no ear has a say in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from callout.audio_block import Samples
from callout.running.problems import CannotRunError
from callout.running.recording_sets import RATE, read_set
from callout.voice.protocol import Synthesiser, VoiceLost

FRAME = RATE // 100
END_RANGE = 25.0
"""A word ends after its last 10 ms that are within so many dB of its loudest 10 ms."""
LOUDEST = 0.5
"""Peak of a word at the microphone (of full scale)."""
SILENCE = 0.1
"""Seconds of nothing before and after a word in its clip."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """A word as it is played: its sound at RATE, and the sample at which it ends."""

    text: str
    samples: Samples
    end: int

    @property
    def seconds(self) -> float:
        """How long it lasts, silence before it included (s)."""
        return self.end / RATE


@dataclass
class Pilot:
    """Says words; `kept` are recordings that come before the voice."""

    voice: Synthesiser | None
    kept: dict[str, Samples] = field(default_factory=dict)

    def say(self, text: str) -> Spoken:
        """The words as sound.  Raises CannotRunError where nobody can say them."""
        samples = self.kept.get(text)
        if samples is None:
            samples = self._made(text)
        loudest = float(np.abs(samples).max(initial=1e-6))
        samples = (samples * np.float32(LOUDEST / loudest)).astype(np.float32)
        silence = np.zeros(round(SILENCE * RATE), np.float32)
        return Spoken(
            text, np.concatenate([silence, samples, silence]), len(silence) + word_end(samples)
        )

    def _made(self, text: str) -> Samples:
        if self.voice is None:
            raise CannotRunError(f"None of the recordings says {text!r}: give another --speech.")
        import soxr

        try:
            block = self.voice.synthesise(text)
        except VoiceLost as lost:
            raise CannotRunError(f"The bench's pilot cannot say {text!r}: {lost}") from lost
        made: Samples = soxr.resample(block.samples, block.rate, RATE).astype(np.float32)
        self.kept[text] = made
        return made


def word_end(samples: Samples) -> int:
    """Return the sample after the last 10 ms within END_RANGE dB of the loudest."""
    count = len(samples) // FRAME
    if not count:
        return len(samples)
    power = (samples[: count * FRAME].reshape(count, FRAME).astype(np.float64) ** 2).mean(axis=1)
    loud = np.flatnonzero(power > power.max() * 10 ** (-END_RANGE / 10))
    return (int(loud[-1]) + 1) * FRAME if len(loud) else len(samples)


def pilot(speech: Sequence[Path] = ()) -> Pilot:
    """A pilot who speaks from these sets, and from eSpeak NG or the system's voice beside them."""
    kept: dict[str, Samples] = {}
    for path in speech:
        for clip in read_set(path):
            if clip.text:
                kept.setdefault(clip.text, clip.samples)
    voice = _voice()
    if voice is None and not kept:
        raise CannotRunError(
            "The bench's pilot has no voice: pip install 'callout[espeak]', "
            "or give recordings with --speech SET.json."
        )
    return Pilot(voice, kept)


def _voice() -> Synthesiser | None:
    """A voice that callout does not speak with, clear and unhurried."""
    from callout.voice.espeak_voice import EspeakVoice
    from callout.voice.system_voice import SystemVoice

    try:
        return EspeakVoice("en-us+f2", 110)
    except VoiceLost:
        pass
    try:
        return SystemVoice()
    except VoiceLost:
        return None


def lag(heard: Samples, clip: Samples) -> int:
    """Return where in `heard` the clip begins, to the sample (by correlation)."""
    size = 1 << (len(heard) + len(clip) - 1).bit_length()
    product = np.fft.rfft(heard, size) * np.conj(np.fft.rfft(clip, size))
    found = np.fft.irfft(product, size)[: max(1, len(heard) - len(clip) // 2)]
    return int(found.argmax())
