"""The features of callout/ear/mel.py once more, for batches on the GPU.

Rule of this file: the numbers come from callout.ear.mel, so that training and
listening cannot drift apart; only the warp of the frequency axis is new.
"""

from __future__ import annotations

import numpy as np
import torch
from torch import Tensor

from callout.ear import mel


def mean_weights(rows: int, counted: int) -> tuple[np.ndarray, np.ndarray]:
    """The running mean as a matrix: mean = W @ log_mel + w0 * mean_before.

    Args:
        rows: how many rows of features
        counted: rows that the mean before counts for (10 at a stream's start, at most 300)
    """
    matrix = np.zeros((rows, rows))
    before = np.zeros(rows)
    row, share = np.zeros(rows), 1.0
    for place in range(rows):
        counted = min(counted + 1, mel.ROWS_REMEMBERED)
        row = row * (1 - 1 / counted)
        row[place] = 1 / counted
        share *= 1 - 1 / counted
        matrix[place], before[place] = row, share
    return matrix.astype(np.float32), before.astype(np.float32)


class Features(torch.nn.Module):
    """Sound [batch, samples] to features [batch, 96, rows]."""

    def __init__(self, samples: int) -> None:
        super().__init__()
        self.rows = (samples - mel.WINDOW) // mel.HOP + 1
        bank = np.concatenate([mel.mel_bank(), mel.plain_bank() * 32_768.0**2], axis=1)
        window = np.hanning(mel.WINDOW + 1)[:-1]
        start = mean_weights(self.rows, mel.ROWS_BEHIND_START)
        later = mean_weights(self.rows, mel.ROWS_REMEMBERED)
        self.register_buffer("bank", torch.tensor(bank, dtype=torch.float32))
        self.register_buffer("window", torch.tensor(window, dtype=torch.float32))
        self.register_buffer("matrix", torch.tensor(np.stack([start[0], later[0]])))
        self.register_buffer("before", torch.tensor(np.stack([start[1], later[1]])))

    def forward(self, sound: Tensor, warp: Tensor | None = None, running: bool = False) -> Tensor:
        """Features of each sound.

        Args:
            sound: [batch, samples], -1 .. 1
            warp: [batch, bins], factor on the frequency axis (see `mouths`), 1.0 leaves it alone
            running: half of the batch begins in the middle of a stream: its mean
                is that of the first rows, roughly
        """
        frames = sound.unfold(1, mel.WINDOW, mel.HOP) * self.window
        spectrum = torch.fft.rfft(frames, mel.FFT)
        power = spectrum.real**2 + spectrum.imag**2
        if warp is not None:
            power = warped(power, warp)
        bands = power @ self.bank
        logs = torch.log(bands[..., : mel.BANDS] + mel.FLOOR)
        plain = torch.log10(bands[..., mel.BANDS :].clamp(min=mel.PLAIN_FLOOR)) + mel.PLAIN_OFFSET
        mean = self._running_mean(logs, running)
        rows = torch.cat([(logs - mean) * mel.SCALE, plain], 2)
        return rows.transpose(1, 2)

    def _running_mean(self, logs: Tensor, running: bool) -> Tensor:
        fresh = self.matrix[0] @ logs + self.before[0][:, None] * mel.MEAN_AT_START
        if not running:
            return fresh
        size = len(logs)
        history = logs[:, :20].mean(1, keepdim=True)
        history = history + 0.5 * torch.randn(size, 1, 1, device=logs.device)
        later = self.matrix[1] @ logs + self.before[1][:, None] * history
        chosen = torch.rand(size, 1, 1, device=logs.device) < 0.6
        return torch.where(chosen, later, fresh)


def agree() -> None:
    """Stop unless these features are those that the program computes, within 1e-3."""
    sound = 0.1 * torch.randn(1, mel.RATE)
    ours = Features(mel.RATE)(sound)[0].T.numpy()
    theirs = mel.MelStream().push(sound[0].numpy())
    if ours.shape != theirs.shape or np.abs(ours - theirs).max() > 1e-3:
        raise SystemExit("The features of training and of callout.ear.mel differ.")


BENT_AT = (0.0, 350.0, 900.0, 1_600.0, 2_600.0, 5_000.0)
"""Where the frequency axis is bent (Hz): about the first two formants; nothing above."""


def mouths(count: int, device: torch.device | str, spread: float = 0.08) -> Tensor:
    """Other people's mouths: a factor for each bin of the frequency axis, [count, bins].

    One factor for the whole axis (a longer or shorter vocal tract), and smaller
    ones about the first formants, which make vowels a little different, as
    accents do. Common practice but for the bends, no source.
    """
    whole = (spread * torch.randn(count, 1, device=device)).clamp(-0.18, 0.18)
    bends = 0.045 * torch.randn(count, len(BENT_AT), device=device).clamp(-2, 2)
    bends[:, [0, -1]] = 0.0
    knots = torch.tensor(BENT_AT, device=device)
    hertz = torch.arange(mel.FFT // 2 + 1, device=device) * (mel.RATE / mel.FFT)
    place = torch.bucketize(hertz, knots).clamp(1, len(knots) - 1)
    part = ((hertz - knots[place - 1]) / (knots[place] - knots[place - 1])).clamp(0, 1)
    curve = bends[:, place - 1] * (1 - part) + bends[:, place] * part
    return torch.exp(whole + curve)


def warped(power: Tensor, warp: Tensor) -> Tensor:
    """Power spectra [batch, rows, bins] with bin k taken from k * warp[k], linearly between."""
    bins = power.shape[2]
    at = torch.arange(bins, device=power.device)[None].float()
    place = at * warp
    # Above 85 % of the band the axis bends so that the top stays the top.
    highest = warp[:, -1:]
    knee = 0.85 * bins / highest.clamp(min=1.0)
    top = knee * highest + (at - knee) * (bins - 1 - knee * highest) / (bins - 1 - knee)
    place = torch.where(at < knee, place, top).clamp(0, bins - 1.001)
    low = place.floor().long()
    part = (place - low).to(power.dtype)[:, None]
    shape = power.shape
    first = power.gather(2, low[:, None].expand(shape))
    second = power.gather(2, (low + 1)[:, None].expand(shape))
    return first * (1 - part) + second * part
