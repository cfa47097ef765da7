"""What was said, as a sound file, for sessions that run in recording time.

Rule of this file: session time 0 is the file's first sample, and time only
goes forward: what lies before the latest `lay` or `cut` is written and gone
from memory. The same calls give the same bytes (WAV and FLAC; an Ogg file
holds a random stream number, so there only the sound is the same).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.voice.protocol import VoiceLost
from callout.voice.shape import resampled

FORMATS = {
    ".wav": ("WAV", "PCM_16"),
    ".flac": ("FLAC", "PCM_16"),
    ".ogg": ("OGG", "VORBIS"),
}
"""File ending -> container and coding, as soundfile names them."""

CUT_FADE = 0.005
"""Seconds over which a cut sound dies away."""

_STRETCH = 1.0  # s of silence written at a time


class Track:
    """A growing mono file.

    Args:
        path: ends in one of FORMATS; replaced if it exists
        rate: Hz; blocks at another rate are resampled

    Raises VoiceLost (ending unknown, file not writable), here and in every method.
    """

    def __init__(self, path: Path, rate: int) -> None:
        if path.suffix.lower() not in FORMATS:
            endings = ", ".join(FORMATS)
            raise VoiceLost(f"Cannot write sound to {path}: its name must end in one of {endings}")
        self._path = path
        self._rate = rate
        self._written = 0  # samples in the file
        self._open_end = np.empty(0, np.float32)  # laid from there on, may still be cut
        self._file: Any = self._opened()

    def lay(self, block: AudioBlock, at: float) -> None:
        """Put the block at session time `at` (s); over what is there already, both sound.

        A time that is written already counts as the earliest that is not.
        """
        self._write_until(at)
        samples = resampled(block, self._rate).samples
        start = max(0, round(at * self._rate) - self._written)
        longer = max(len(self._open_end), start + len(samples)) - len(self._open_end)
        self._open_end = np.concatenate((self._open_end, np.zeros(longer, np.float32)))
        self._open_end[start : start + len(samples)] += samples

    def cut(self, at: float) -> None:
        """Silence all that was laid after session time `at` (s), dying away in CUT_FADE."""
        self._write_until(at)
        start = max(0, round(at * self._rate) - self._written)
        fade = round(CUT_FADE * self._rate)
        kept = self._open_end[: start + fade].copy()
        tail = kept[start:]
        tail *= 0.5 + 0.5 * np.cos(np.pi * (np.arange(len(tail), dtype=np.float32) + 0.5) / fade)
        self._open_end = kept

    def close(self, ends_at: float) -> None:
        """End the file at session time `ends_at` (s), or with the last sound laid, if later."""
        if self._file is None:
            return
        self._write_until(max(ends_at, (self._written + len(self._open_end)) / self._rate))
        try:
            self._file.close()
        except (OSError, RuntimeError) as error:
            raise self._lost(error) from error
        finally:
            self._file = None

    def _opened(self) -> Any:  # noqa: ANN401 - the library has no types
        import soundfile

        kind, coding = FORMATS[self._path.suffix.lower()]
        try:
            self._path.open("ab").close()  # its reason can be told; the library's is "System error"
            return soundfile.SoundFile(self._path, "w", self._rate, 1, coding, format=kind)
        except (OSError, RuntimeError) as error:
            raise self._lost(error) from error

    def _write_until(self, at: float) -> None:
        """Write everything before session time `at` (s): sound first, then silence."""
        due = round(at * self._rate) - self._written
        if due <= 0:
            return
        sound = self._open_end[:due]
        self._open_end = self._open_end[due:]
        self._write(sound)
        silence = due - len(sound)
        while silence > 0:
            stretch = min(silence, round(_STRETCH * self._rate))
            self._write(np.zeros(stretch, np.float32))
            silence -= stretch

    def _write(self, samples: Samples) -> None:
        if not len(samples):
            return
        try:
            self._file.write(np.clip(samples, -1.0, 1.0))
        except (OSError, RuntimeError) as error:
            raise self._lost(error) from error
        self._written += len(samples)

    def _lost(self, error: Exception) -> VoiceLost:
        why = getattr(error, "strerror", None) or error
        return VoiceLost(f"Cannot write sound to {self._path}: {why}")
