"""Each tone is known from its first half second, in a helicopter's noise, by simple features.

A listener made of a few lines: in frames of 40 ms he asks which pitch with its
harmonics stands out of the noise, joins frames of one pitch to pulses, and names
the tone by how many pulses began, and how high. If this one can tell the four
apart (MIL-STD-1472E 5.3.4.3.3, as quoted), a person can. Noise: a recorded
helicopter (tests/ear/recordings, CC0), and white noise, at 10 dB below the pulses.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from callout.engine.effects import ToneKind
from callout.voice.tones import LEVELS, tone

RECORDINGS = Path(__file__).parents[1] / "ear" / "recordings"
RATE = 16_000
KNOWN_WITHIN = 0.5
SNR = 10.0

FRAME, STEP = 0.040, 0.010
PITCHES = np.arange(450.0, 1301.0, 10.0)
STANDS_OUT = 16.0
"""dB of a pitch's strength above the usual strength of that pitch in the noise."""


def helicopter() -> np.ndarray:
    sound, rate = soundfile.read(RECORDINGS / "noise.ogg", dtype="float64")
    assert rate == RATE
    assert "CC0" in (RECORDINGS / "noise.json").read_text()
    return sound


def white() -> np.ndarray:
    return np.random.default_rng(11).normal(0.0, 0.1, 10 * RATE)


NOISES = {"helicopter": helicopter, "white": white}


SIZE = round(FRAME * RATE)
WAVES = np.exp(
    -2j * np.pi * np.outer(np.arange(SIZE) / RATE, np.outer((1, 2, 3), PITCHES).ravel())
) * np.hanning(SIZE).reshape(-1, 1)
"""What a frame is multiplied with to get its strength at each pitch and its next two harmonics."""


def strengths(sound: np.ndarray) -> np.ndarray:
    """dB at each pitch and its next two harmonics, shape [frames, 3, pitches]."""
    frames = np.lib.stride_tricks.sliding_window_view(sound, SIZE)[:: round(STEP * RATE)]
    power = np.abs(frames @ WAVES) ** 2
    return 10 * np.log10(power + 1e-12).reshape(len(frames), 3, len(PITCHES))


def heard(sound: np.ndarray, noise: np.ndarray) -> list[float]:
    """Pitches of the pulses in the sound, in order; `noise` is what was there before."""
    above = (strengths(sound) - np.median(strengths(noise), axis=0)).mean(axis=1)
    best = above.argmax(axis=1)
    marks = [
        float(PITCHES[at]) if row[at] > STANDS_OUT else 0.0
        for at, row in zip(best, above, strict=True)
    ]
    pulses: list[list[float]] = []
    last = 0.0
    for pitch in marks:
        if pitch and last and abs(pitch - last) < 0.08 * last:
            pulses[-1].append(pitch)
        elif pitch:
            pulses.append([pitch])
        last = pitch
    return [float(np.median(pulse)) for pulse in pulses if len(pulse) * STEP >= 0.03]


def name(pulses: list[float]) -> ToneKind | None:
    """Which tone begins like this."""
    if not pulses:
        return None
    if len(pulses) == 1:
        return ToneKind.HEARD if pulses[0] > 1050 else None
    if pulses[0] > 1.2 * pulses[-1]:
        return ToneKind.NOT_UNDERSTOOD
    return ToneKind.WARNING if np.median(pulses) > 750 else ToneKind.CAUTION


def mixed(kind: ToneKind | None, noise: np.ndarray, at: int) -> tuple[np.ndarray, np.ndarray]:
    """The first half second of a tone in a piece of noise, and the noise before it."""
    n = round(KNOWN_WITHIN * RATE)
    piece = noise[at - 2 * n : at + n]
    level = LEVELS[kind] if kind is not None else LEVELS[ToneKind.WARNING]
    scaled = piece * 10 ** ((level - SNR) / 20) / np.sqrt(np.mean(piece**2))
    before, during = scaled[: 2 * n], scaled[2 * n :].copy()
    if kind is not None:
        clip = tone(kind, RATE).samples[:n]
        during[: len(clip)] += clip
    return during, before


PLACES = [round(seconds * RATE) for seconds in np.linspace(1.1, 9.4, 30)]


@pytest.mark.parametrize("noise", NOISES)
@pytest.mark.parametrize("kind", ToneKind)
def test_a_tone_is_known_from_its_first_half_second_in_noise(kind: ToneKind, noise: str):
    sound = NOISES[noise]()
    named = [name(heard(*mixed(kind, sound, at))) for at in PLACES]

    assert [kind] * len(PLACES) == named


@pytest.mark.parametrize("noise", NOISES)
def test_noise_alone_is_taken_for_no_tone(noise: str):
    sound = NOISES[noise]()
    named = [name(heard(*mixed(None, sound, at))) for at in PLACES]

    assert [None] * len(PLACES) == named


@pytest.mark.parametrize("noise", NOISES)
def test_the_noise_is_as_loud_as_it_says(noise: str):
    """Over the tone and the second before it, on average; a helicopter's noise swells."""
    sound = NOISES[noise]()
    pieces = [np.concatenate(mixed(None, sound, at)) for at in PLACES]
    levels = [10 * np.log10(np.mean(piece**2)) for piece in pieces]

    assert [LEVELS[ToneKind.WARNING] - SNR] * len(PLACES) == pytest.approx(levels)
