"""The active speech level against what ITU-T P.56 must give for sounds that can be worked out."""

from __future__ import annotations

import numpy as np
import pytest

from callout.running.speech_level import HANGOVER, RATE, speech_power


def bursts(on: float, off: float, count: int) -> np.ndarray:
    """Tones of 1 kHz with amplitude 0.1, silence between."""
    time = np.arange(round(on * RATE)) / RATE
    tone = 0.1 * np.sin(2 * np.pi * 1000 * time)
    return np.concatenate([np.concatenate([tone, np.zeros(round(off * RATE))])] * count).astype(
        np.float32
    )


def test_a_steady_sound_has_its_own_level() -> None:
    """A tone without a pause is active all the time: half the square of its amplitude."""
    assert 0.005 == pytest.approx(speech_power(bursts(4.0, 0.0, 1)), rel=0.02)


def test_long_silence_is_not_counted() -> None:
    """Two seconds of tone and six of nothing: the hangover is all that is added."""
    expected = 0.005 * 2.0 / (2.0 + HANGOVER / 1000)

    assert expected == pytest.approx(speech_power(bursts(2.0, 6.0, 1)), rel=0.05)


def test_short_gaps_belong_to_speech() -> None:
    """Gaps of a tenth of a second are within the hangover: the mean over all of it."""
    sound = bursts(0.3, 0.1, 10)

    assert float((sound**2).mean()) == pytest.approx(speech_power(sound), rel=0.03)


def test_twice_as_loud_is_four_times_the_power() -> None:
    """The level follows the sound, whatever its strength."""
    sound = bursts(0.4, 0.5, 4)

    assert 4.0 == pytest.approx(speech_power(2 * sound) / speech_power(sound), rel=0.03)


def test_silence_has_no_level() -> None:
    """Nothing divides by zero."""
    assert 1e-9 > speech_power(np.zeros(RATE, np.float32))
