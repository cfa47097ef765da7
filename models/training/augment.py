"""From plans to sound on the GPU: voices, rooms, microphones, noise, telephones.

Rule of this file: everything is drawn at random for each item and computed for
the whole batch at once; nothing here knows what is said.
"""

from __future__ import annotations

import math

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional

from models.training.data import RATE, SLOTS, Plan

EQ_POINTS = 12


class Studio:
    """Makes batches of sound.

    Args:
        sound: int16 [samples], speech and recorded noise, on the GPU
        noises: int64 [n, 2], start and length of each noise in it
        talks: the same for talk that is not addressed to the program
        samples: length of an item
    """

    def __init__(self, sound: Tensor, noises: Tensor, talks: Tensor, samples: int) -> None:
        self.sound, self.noises, self.talks, self.samples = sound, noises, talks, samples
        self.device = sound.device
        self.size = 1 << math.ceil(math.log2(samples + 4_200))
        hertz = torch.fft.rfftfreq(self.size, 1 / RATE, device=self.device)
        self.hertz = hertz.clamp(min=1.0)
        points = torch.logspace(math.log10(50), math.log10(8_000), EQ_POINTS, device=self.device)
        place = torch.bucketize(self.hertz, points).clamp(1, EQ_POINTS - 1)
        low, high = points[place - 1].log(), points[place].log()
        part = ((self.hertz.log() - low) / (high - low)).clamp(0, 1)
        self.spread = torch.zeros(EQ_POINTS, len(hertz), device=self.device)
        self.spread.scatter_(0, (place - 1)[None], (1 - part)[None])
        self.spread.scatter_add_(0, place[None], part[None])

    def rand(self, count: int, low: float = 0.0, high: float = 1.0) -> Tensor:
        """Uniform random numbers [count, 1]."""
        return torch.rand(count, 1, device=self.device) * (high - low) + low

    def maybe(self, count: int, chance: float) -> Tensor:
        """True with a chance, [count, 1]."""
        return torch.rand(count, 1, device=self.device) < chance

    def make(self, plan: Plan, views: int = 1) -> tuple[Tensor, Tensor]:
        """Every item of a plan in `views` ways: said at the same time, all else drawn anew.

        Returns:
            sound [views * batch, samples], -1 .. 1, one whole batch after another;
            the ratio of speech to noise of each, dB [views * batch, 1]
        """
        speech, spoken = self.speech(plan, views)
        count = len(speech)
        phone = self.maybe(count, 0.25)
        voice = self.filtered(speech, self.voice_response(count), rooms=True)
        power = (voice**2).sum(1, keepdim=True) / spoken.sum(1, keepdim=True).clamp(min=1_600)
        noise = self.noise(count)
        # More of the loud noise than of the faint: -8 to 24 dB, half of it under 4 dB.
        ratio = -8 + 32 * self.rand(count) ** 1.4
        ratio = torch.where(self.maybe(count, 0.16), self.rand(count, 24, 60), ratio)
        level = power.clamp(min=1e-6) / 10 ** (ratio / 10)
        # Some recordings stand in digital silence: cut tight, as telephone systems do.
        quiet = self.maybe(count, 0.10) & (power > 0)
        ratio = torch.where(quiet, torch.full_like(ratio, 60.0), ratio)
        mixed = voice + torch.where(quiet, torch.zeros_like(noise), noise * level.sqrt())
        mixed = self.filtered(mixed, self.microphone_response(count, phone), rooms=False)
        return self.recorded(mixed, phone), ratio

    def speech(self, plan: Plan, views: int) -> tuple[Tensor, Tensor]:
        """The clips of a plan at their places and speeds, and where they are, [batch, samples]."""
        start, length, at, speed = (
            torch.as_tensor(x, device=self.device).repeat(views, *[1] * (x.ndim - 1))
            for x in (plan.start, plan.length, plan.at, plan.speed)
        )
        speed = speed[:, None]
        time = torch.arange(self.samples, device=self.device)[None]
        sway = self.sway(len(plan.start)).repeat(views, 1)
        out = torch.zeros(len(start), self.samples, device=self.device)
        spoken = torch.zeros_like(out, dtype=torch.bool)
        for slot in range(SLOTS):
            place = (time - at[:, slot, None]) * speed
            place = place + self.swayed(place, sway)
            inside = (place >= 0) & (place < length[:, slot, None] - 1)
            found = self.between(start[:, slot, None], place.clamp(min=0) * inside)
            # 5 ms ramps, so that a cut is no click.
            edge = torch.minimum(place, length[:, slot, None] - 1 - place).clamp(0, 80) / 80
            level = 10 ** (0.15 * torch.randn(len(out), 1, device=self.device))
            out += torch.where(inside, found * edge * level, torch.zeros_like(found))
            spoken |= inside
        return out, spoken

    def sway(self, count: int) -> Tensor:
        """Of half of the items how the voice goes up and down and hurries: [count, 3].

        Share of the speed, period in samples, phase.
        """
        share = self.rand(count, 0.0, 0.12) * self.maybe(count, 0.5)
        return torch.cat([share, self.rand(count, 5_000, 16_000), self.rand(count, 0, 6.28)], 1)

    def swayed(self, place: Tensor, sway: Tensor) -> Tensor:
        """How many samples further a swaying voice is; 0 at the first sample."""
        share, period, phase = sway[:, 0:1], sway[:, 1:2] / (2 * math.pi), sway[:, 2:3]
        return share * period * ((place / period + phase).sin() - phase.sin())

    def between(self, start: Tensor, place: Tensor) -> Tensor:
        """Samples at fractional places after `start`: cubic interpolation, full scale 1."""
        whole = place.floor()
        t = place - whole
        base = (start + whole.long()).clamp(1, len(self.sound) - 3)
        a, b, c, d = (self.sound[base + k].float() for k in (-1, 0, 1, 2))
        cubic = b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)))
        return cubic / 32_768

    def noise(self, count: int) -> Tensor:
        """Noise of unit power: one or two recorded or made, or shaped random; some talk in it."""
        out = self.one_noise(count)
        out = out + self.maybe(count, 0.35) * self.rand(count, 0.1, 1.0) * self.one_noise(count)
        talk = self.unit(self.looped(self.talks, count))
        out = out + self.maybe(count, 0.12) * self.rand(count, 0.1, 0.9) * talk
        return self.unit(out)

    def one_noise(self, count: int) -> Tensor:
        """A recorded or made noise with a random response, or random noise with one."""
        chosen = self.looped(self.noises, count)
        plain = torch.randn_like(chosen)
        source = torch.where(self.maybe(count, 0.8), self.unit(chosen), plain)
        tilt = self.rand(count, -5, 1) * (self.hertz / 500).clamp(min=0.2).log2()
        gain = 10 ** ((self.curve(count, 4.0) + self.maybe(count, 0.3) * tilt) / 20)
        return self.unit(self.filtered(source, gain, rooms=False))

    def looped(self, table: Tensor, count: int) -> Tensor:
        """Stretches of random entries of a table, from random places, at random speeds."""
        entry = table[torch.randint(len(table), (count,), device=self.device)]
        speed = self.rand(count, 0.8, 1.25)
        first = self.rand(count) * entry[:, 1:]
        time = torch.arange(self.samples, device=self.device)[None] * speed + first
        return self.between(entry[:, :1], torch.remainder(time, (entry[:, 1:] - 4).clamp(min=8)))

    @staticmethod
    def unit(x: Tensor) -> Tensor:
        """The same with unit power."""
        return x / ((x**2).mean(1, keepdim=True) + 1e-9).sqrt()

    def curve(self, count: int, most: float) -> Tensor:
        """Random smooth response in dB, [count, bins]; its spread differs from item to item."""
        points = torch.randn(count, EQ_POINTS, device=self.device) * self.rand(count, 0.5, most)
        return points @ self.spread

    def high_pass(self, corner: Tensor, order: float) -> Tensor:
        """Magnitude of a high pass, [count, bins], for corners [count, 1] in Hz."""
        return (1 + (corner / self.hertz) ** (2 * order)).rsqrt()

    def voice_response(self, count: int) -> Tensor:
        """Vocal effort and mouth-to-microphone path: tilt, curve, sometimes thin."""
        tilt = self.rand(count, -2, 3) * (self.hertz / 1_000).clamp(0.2, 4).log2()
        gain = 10 ** ((tilt + self.curve(count, 3.0)) / 20)
        thin = self.high_pass(self.rand(count, 60, 250), 1)
        return torch.where(self.maybe(count, 0.4), gain * thin, gain)

    def microphone_response(self, count: int, phone: Tensor) -> Tensor:
        """Headset and recorder: curve, high pass, low pass; a telephone's band for some."""
        gain = 10 ** (self.curve(count, 4.0) / 20)
        thin = self.high_pass(self.rand(count, 80, 400), 1.5)
        dull = (1 + (self.hertz / self.rand(count, 3_000, 7_500)) ** 4).rsqrt()
        gain = torch.where(self.maybe(count, 0.3), gain * thin, gain)
        gain = torch.where(self.maybe(count, 0.2), gain * dull, gain)
        low, high = self.rand(count, 50, 350), self.rand(count, 3_200, 4_000)
        band = self.high_pass(low, 3) * (1 + (self.hertz / high) ** 24).rsqrt()
        return torch.where(phone, gain * band, gain)

    def filtered(self, sound: Tensor, gain: Tensor, rooms: bool) -> Tensor:
        """Apply a magnitude response; with rooms, a reverberation to a third of the items."""
        spectrum = torch.fft.rfft(sound, self.size) * gain
        if rooms:
            count, length = len(sound), 4_000
            time = torch.arange(length, device=self.device)[None] / RATE
            decay = torch.exp(-6.9 * time / self.rand(count, 0.08, 0.6))
            tail = torch.randn(count, length, device=self.device) * decay * (time > 0.002)
            tail = tail * self.rand(count, 0.1, 0.9) / (tail**2).sum(1, keepdim=True).sqrt()
            tail = tail * self.maybe(count, 0.35)
            tail[:, 0] = 1.0
            spectrum = spectrum * torch.fft.rfft(tail, self.size)
        return torch.fft.irfft(spectrum, self.size)[:, : self.samples]

    def recorded(self, sound: Tensor, phone: Tensor) -> Tensor:
        """Gain control, clipping, telephone coding, level, 16 bits."""
        count = len(sound)
        peak = sound.abs().amax(1, keepdim=True).clamp(min=1e-5)
        sound = sound / peak
        pooled = functional.avg_pool1d((sound**2)[:, None], 3_200, stride=160, ceil_mode=True)
        loudness = functional.interpolate(pooled, size=self.samples, mode="linear")[:, 0]
        steady = sound / (loudness.sqrt() + 0.03) ** self.rand(count, 0.2, 0.8)
        steady = steady / steady.abs().amax(1, keepdim=True).clamp(min=1e-5)
        sound = torch.where(self.maybe(count, 0.15), steady, sound)
        limit = self.rand(count, 0.2, 0.8)
        sound = torch.where(self.maybe(count, 0.1), sound.clamp(-limit, limit) / limit, sound)
        coded = sound.sign() * torch.log1p(255 * sound.abs()) / math.log(256)
        coded = (coded * 127).round() / 127
        coded = coded.sign() * ((256 ** coded.abs()) - 1) / 255
        sound = torch.where(phone & self.maybe(count, 0.4), coded, sound)
        sound = sound * 10 ** (self.rand(count, -32, 0) / 20)
        return (sound * 32_768).round() / 32_768


def masked(rows: Tensor, plain_from: int, much: float = 1.0) -> Tensor:
    """Features [batch, 96, rows] with a few bands and short times blanked; `much`: how wide."""
    count, bands, length = rows.shape
    device = rows.device
    band = torch.arange(bands, device=device)[None, :, None]
    keep = torch.ones(count, bands, 1, dtype=torch.bool, device=device)
    for first, size, widest in ((0, plain_from, 9), (plain_from, bands - plain_from, 5)):
        for _ in range(2):
            at = first + torch.rand(count, 1, 1, device=device) * size
            wide = torch.rand(count, 1, 1, device=device) * widest * much
            keep &= ~((band >= at) & (band < at + wide) & (band < first + size))
    time = torch.arange(length, device=device)[None, None]
    for chance in (0.5, 0.5 * (much > 1)):
        at = torch.rand(count, 1, 1, device=device) * length
        wide = torch.rand(count, 1, 1, device=device) * 9 * much
        struck = torch.rand(count, 1, 1, device=device) < chance
        keep = keep & ~((time >= at) & (time < at + wide) & struck)
    blank = torch.where(band < plain_from, 0.0, 5.0).to(rows.dtype)
    return torch.where(keep, rows, blank)


def made_noises(count: int, seed: int) -> list[np.ndarray]:
    """Noises by recipe as int16, for putting beside the recorded ones."""
    from models.training.noise import machine

    return [
        (machine(np.random.default_rng((seed, n))) * 32_767).astype(np.int16) for n in range(count)
    ]
