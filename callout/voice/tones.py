"""Four short tones, made by code, ours.

Rule of this file: no more than four, because more cannot be told apart without
comparing them (MIL-STD-1472E 5.3.4.3.1), and each is known in its first half
second (5.3.4.3.3; both as quoted in the project's reading of a scan). A tone is
told from another by how many pulses it has and by how high they are, so that
either would do.

From IEC 60601-1-8: caution is three pulses and warning five, as three and two,
which is its medium and high priority (as quoted in lecture notes). Its figures,
from memory: a pulse of a warning lasts 75 to 200 ms, x = 50 to 125 ms apart, and
2 x and a pulse between the two groups; of a caution 125 to 250 ms, 125 to 250 ms
apart; a pulse rises (10 to 90 %) in 10 to 40 % of its length; its pitch lies
between 150 and 1000 Hz and at least four of its harmonics between 300 and 4000 Hz,
none more than 15 dB from the pitch. MIL-STD-1472E 5.3.4.1 wants a signal to stand
out somewhere in 200 to 5000 Hz (as quoted); that 500 to 3000 Hz is the better
part of it, and 0.5 s the least for a warning, is 1472's too (0.5 s: 5.3.6.5 as
quoted; 500 to 3000 Hz: from memory). The very pitches, levels and the two short
tones, which are no alerts, are our own choice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.engine.effects import ToneKind
from callout.voice.shape import faded

_EDGE = 0.22
"""Part of a pulse that is raised cosine, at each end: 10 to 90 % in 0.13 of its length."""

_HARMONICS = (1.0, 0.6, 0.45, 0.35, 0.3)
"""Strength of the pitch and its multiples, as far as they lie below HIGHEST."""

HIGHEST = 4000.0
"""Hz; above it nothing sounds."""


@dataclass(frozen=True, slots=True)
class Pulse:
    """One beep: pitch (Hz), length (s), silence after it (s)."""

    pitch: float
    seconds: float
    gap: float = 0.0


PULSES: dict[ToneKind, tuple[Pulse, ...]] = {
    ToneKind.HEARD: (Pulse(1200, 0.07),),
    ToneKind.NOT_UNDERSTOOD: (Pulse(760, 0.14, 0.03), Pulse(520, 0.20)),
    ToneKind.CAUTION: (Pulse(600, 0.16, 0.13), Pulse(600, 0.16, 0.13), Pulse(600, 0.16)),
    ToneKind.WARNING: (
        *(Pulse(900, 0.09, 0.06), Pulse(900, 0.09, 0.06), Pulse(900, 0.09, 0.21)),
        *(Pulse(900, 0.09, 0.06), Pulse(900, 0.09)),
    ),
}
"""What each tone is made of.  Caution lasts 0.74 s and warning 0.84 s."""

LEVELS: dict[ToneKind, float] = {
    ToneKind.HEARD: -26.0,
    ToneKind.NOT_UNDERSTOOD: -20.0,
    ToneKind.CAUTION: -17.0,
    ToneKind.WARNING: -14.0,
}
"""RMS of a pulse away from its edges (dBFS); spoken clips have -20."""


def tone(kind: ToneKind, rate: int) -> AudioBlock:
    """The tone as sound, mono, at `rate` (Hz, at least 8000)."""
    parts = [part for pulse in PULSES[kind] for part in _sounded(pulse, LEVELS[kind], rate)]
    return AudioBlock(np.concatenate(parts), rate)


def _sounded(pulse: Pulse, level: float, rate: int) -> tuple[Samples, Samples]:
    at = np.arange(round(pulse.seconds * rate)) / rate
    strengths = [
        (number, strength)
        for number, strength in enumerate(_HARMONICS, start=1)
        if number * pulse.pitch <= HIGHEST
    ]
    wave = np.zeros(len(at))
    for number, strength in strengths:
        wave += strength * np.sin(2 * np.pi * pulse.pitch * number * at)
    rms = np.sqrt(sum(strength**2 for _, strength in strengths) / 2)
    scaled = (wave * 10 ** (level / 20) / rms).astype(np.float32)
    return faded(scaled, rate, _EDGE * pulse.seconds), np.zeros(round(pulse.gap * rate), np.float32)
