"""Sound to log-mel features, block by block, as the built-in model was trained on them.

Rule of this file: numpy alone, no files. Whatever is changed here changes the
model too: `models/training/features.py` does the same on the GPU, and each
training run begins by comparing the two.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
"""Samples per second that go in (Hz)."""
BANDS = 64
"""Bands that lose their running mean."""
PLAIN_BANDS = 32
"""Bands that keep their level: what the pretrained part of the network reads."""
COLUMNS = BANDS + PLAIN_BANDS
HOP = 160
"""Samples from one row of features to the next: 10 ms."""
WINDOW = 400
"""Samples that one row looks at: 25 ms."""
FFT = 512
LOWEST_HZ, HIGHEST_HZ = 60.0, 7_600.0
FLOOR = 1e-6
"""Added to the power of a band before the logarithm, so that digital silence has one."""
MEAN_AT_START = -6.0
"""Log power assumed for every band before anything was heard."""
ROWS_BEHIND_START = 10
"""How many rows that assumption counts for."""
ROWS_REMEMBERED = 300
"""The running mean forgets with this time constant, in rows (3 s)."""
SCALE = 0.25
PLAIN_LOWEST_HZ, PLAIN_HIGHEST_HZ = 60.0, 3_800.0
PLAIN_FLOOR = 100.0
"""Least power of a plain band, at samples of full scale 32768 (-77 dB of white noise)."""
PLAIN_OFFSET = 2.0


def mel_bank() -> NDArray[np.float32]:
    """Triangular filters on the mel scale 2595 log10(1 + f / 700), float32 [257, 64]."""
    edges_mel = np.linspace(_mel(LOWEST_HZ), _mel(HIGHEST_HZ), BANDS + 2)
    edges = 700.0 * (10.0 ** (edges_mel / 2595.0) - 1.0)
    bins = np.arange(FFT // 2 + 1) * RATE / FFT
    rising = (bins[:, None] - edges[None, :-2]) / (edges[1:-1] - edges[:-2])
    falling = (edges[None, 2:] - bins[:, None]) / (edges[2:] - edges[1:-1])
    return np.maximum(0.0, np.minimum(rising, falling)).astype(np.float32)


def plain_bank() -> NDArray[np.float32]:
    """Triangular filters of equal area on Slaney's mel scale, float32 [257, 32]."""
    edges = _slaney_hertz(
        np.linspace(_slaney_mel(PLAIN_LOWEST_HZ), _slaney_mel(PLAIN_HIGHEST_HZ), PLAIN_BANDS + 2)
    )
    bins = np.arange(FFT // 2 + 1) * RATE / FFT
    rising = (bins[:, None] - edges[None, :-2]) / (edges[1:-1] - edges[:-2])
    falling = (edges[None, 2:] - bins[:, None]) / (edges[2:] - edges[1:-1])
    filters = np.maximum(0.0, np.minimum(rising, falling)) * 2.0 / (edges[2:] - edges[:-2])
    return filters.astype(np.float32)


def _slaney_mel(hertz: float) -> float:
    """Linear to 1 kHz, logarithmic above (Slaney's Auditory Toolbox, as librosa has it)."""
    if hertz < 1_000.0:
        return hertz * 3.0 / 200.0
    return 15.0 + 27.0 * float(np.log(hertz / 1_000.0) / np.log(6.4))


def _slaney_hertz(mel: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.where(mel < 15.0, mel * 200.0 / 3.0, 1_000.0 * 6.4 ** ((mel - 15.0) / 27.0))


def _mel(hertz: float) -> float:
    return float(2595.0 * np.log10(1.0 + hertz / 700.0))


class MelStream:
    """Turns a stream of samples into rows of features.

    Row k looks at samples 160 k .. 160 k + 399. Columns 0 .. 63 lose their running
    mean, which is causal: nothing here waits for the end of an utterance. Columns
    64 .. 95 are plain logarithms of power.
    """

    def __init__(self) -> None:
        self._bank = np.concatenate([mel_bank(), plain_bank() * np.float32(32_768.0**2)], axis=1)
        self._window = np.hanning(WINDOW + 1)[:-1].astype(np.float32)
        self.reset()

    def reset(self) -> None:
        """Forget all that was heard."""
        self._left = np.zeros(0, np.float32)
        self._mean = np.full(BANDS, MEAN_AT_START, np.float32)
        self._rows = ROWS_BEHIND_START

    def push(self, samples: NDArray[np.float32]) -> NDArray[np.float32]:
        """Take samples (float32 [n], -1 .. 1, 16 kHz, any n); return the new rows, [m, 96]."""
        sound = np.concatenate([self._left, samples])
        count = max(0, (len(sound) - WINDOW) // HOP + 1)
        self._left = sound[count * HOP :]
        if count == 0:
            return np.zeros((0, COLUMNS), np.float32)
        frames = np.lib.stride_tricks.sliding_window_view(sound, WINDOW)[::HOP][:count]
        power = np.abs(np.fft.rfft(frames * self._window, FFT)) ** 2
        bands = power.astype(np.float32) @ self._bank
        plain = np.log10(np.maximum(bands[:, BANDS:], PLAIN_FLOOR)) + PLAIN_OFFSET
        return np.concatenate(
            [self._less_mean(np.log(bands[:, :BANDS] + FLOOR)), plain.astype(np.float32)], axis=1
        )

    def _less_mean(self, rows: NDArray[np.float32]) -> NDArray[np.float32]:
        """Subtract the running mean from each row, the row itself counted in; scale."""
        out = np.empty_like(rows)
        for place, row in enumerate(rows):
            self._rows = min(self._rows + 1, ROWS_REMEMBERED)
            self._mean = self._mean + (row - self._mean) / self._rows
            out[place] = row - self._mean
        return out * np.float32(SCALE)
