"""Four short tones, made by code, ours.

Rule of this file: no more than four, because more cannot be told apart without
comparing them (MIL-STD-1472E 5.3.4.3.1), and each is known in its first half
second (5.3.4.3.3; both as quoted in the project's reading of a scan). Caution
is three pulses and warning five, as three and two, which is the idea of IEC
60601-1-8's medium and high priority (number of pulses: as quoted in lecture
notes; pulse lengths: from memory). Pitches, levels and the two short tones are
our own choice, between 400 and 3600 Hz, inside the 200 .. 5000 Hz in which
1472E 5.3.4.1 wants a signal to stand out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.engine.effects import ToneKind
from callout.voice.shape import faded

_EDGE = 0.008  # s of raised cosine at each end of a pulse: no click, still crisp
_OVERTONES = (1.0, 0.5, 0.25)  # strength of the pitch, its double and its triple


@dataclass(frozen=True, slots=True)
class Pulse:
    """One beep: pitch (Hz), length (s), silence after it (s)."""

    pitch: float
    seconds: float
    gap: float = 0.0


PULSES: dict[ToneKind, tuple[Pulse, ...]] = {
    ToneKind.HEARD: (Pulse(1200, 0.07),),
    ToneKind.NOT_UNDERSTOOD: (Pulse(600, 0.14, 0.03), Pulse(400, 0.20)),
    ToneKind.CAUTION: (Pulse(800, 0.16, 0.10), Pulse(800, 0.16, 0.10), Pulse(800, 0.16)),
    ToneKind.WARNING: (
        *(Pulse(1000, 0.09, 0.05), Pulse(1000, 0.09, 0.05), Pulse(1000, 0.09, 0.16)),
        *(Pulse(1000, 0.09, 0.05), Pulse(1000, 0.09)),
    ),
}
"""What each tone is made of.  Caution lasts 0.68 s and warning 0.76 s."""

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
    wave = np.zeros(len(at))
    for number, strength in enumerate(_OVERTONES, start=1):
        wave += strength * np.sin(2 * np.pi * pulse.pitch * number * at)
    rms = np.sqrt(sum(strength**2 for strength in _OVERTONES) / 2)
    scaled = (wave * 10 ** (level / 20) / rms).astype(np.float32)
    return faded(scaled, rate, _EDGE), np.zeros(round(pulse.gap * rate), np.float32)
