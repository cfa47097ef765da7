"""How loud the place is at the microphone, how far speech stands above it, and what to do.

Rule of this file: sound in, figures and sentences out; devices are somebody
else's. Levels are of full scale (dBFS): how loud it is in an ear cannot be
known from a microphone whose sensitivity nobody told.

MIL-STD-1472E 5.3.4.1 asks of audio warnings 20 dB above the noise in at least
one octave between 200 and 5000 Hz.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Any

from callout.audio_block import Samples
from callout.running.gain import LOUDEST, SOFTEST
from callout.running.octaves import OCTAVES, decibels, octave_powers

ASKED = 20.0
"""Speech above noise (dB) in at least one octave."""
AUDIBLE = 3.0
"""Speech that is in no octave so far (dB) above the noise was not caught."""
PLENTY = 35.0
"""More above the noise (dB) than this serves nobody, and softer is kinder to the ear
(common practice, no source)."""
CLIPPED = 0.99
MOST = 60.0
"""A ratio above this is not told (dB): a microphone's own noise is not known so well."""

CAUTION = (
    "Caution: callout cannot measure how loud it is at your ear. Begin low and raise it slowly; "
    "NUREG-0700 asks that signals stay below 90 dB(A). Loudness that hurts or rings afterwards "
    "harms: wear hearing protection near a running engine."
)

BY_HAND = (
    "That is more than callout can add by itself: turn the device's own volume up, bring it "
    "nearer, or wear a headset; then measure again."
)


class Whose(Enum):
    """Whose speech was caught."""

    CALLOUT = "callout"
    PILOT = "pilot"


@dataclass(frozen=True, slots=True)
class Band:
    """One octave (nominal Hz): noise and speech (dBFS), speech above noise (dB)."""

    octave: int
    noise: float
    speech: float
    above: float


@dataclass(frozen=True, slots=True)
class Levels:
    """What was measured.

    Fields:
        whose: who spoke
        bands: from low to high
        clipped: speech or noise was too loud for the microphone
    """

    whose: Whose
    bands: tuple[Band, ...]
    clipped: bool

    @property
    def best(self) -> Band:
        """The octave in which speech stands out most."""
        return max(self.bands, key=lambda band: band.above)

    @property
    def caught(self) -> bool:
        """Whether the microphone caught speech at all."""
        return self.best.above >= AUDIBLE

    @property
    def enough(self) -> bool:
        """Whether one octave at least has what is asked for."""
        return self.best.above >= ASKED

    @property
    def gain(self) -> int | None:
        """Decibels by which callout should speak louder or softer; None: this cannot help."""
        if self.whose is not Whose.CALLOUT or not self.caught or self.clipped:
            return None
        if self.best.above > PLENTY:
            return max(SOFTEST, -int(self.best.above - PLENTY))
        wanted = max(0, -int(-(ASKED - self.best.above) // 1))
        return wanted if wanted <= LOUDEST else None

    def as_json(self) -> dict[str, Any]:
        """One object."""
        return {
            "whose": self.whose.value,
            "octaves": [
                {"octave_hz": band.octave, "noise_dbfs": round(band.noise, 1),
                 "speech_dbfs": round(band.speech, 1), "above_db": round(band.above, 1)}
                for band in self.bands
            ],
            "best_octave_hz": self.best.octave, "best_above_db": round(self.best.above, 1),
            "asked_db": ASKED, "caught": self.caught, "enough": self.enough,
            "clipped": self.clipped, "gain_db": self.gain, "says": list(advice(self)),
        }  # fmt: skip


def measured(
    noise: Samples, with_speech: Samples, rate: int, whose: Whose, seconds: float
) -> Levels:
    """Compare noise alone with the same noise while somebody speaks for `seconds` (s) of it."""
    share = min(1.0, seconds * rate / len(with_speech))
    quiet, both = octave_powers(noise, rate), octave_powers(with_speech, rate)
    bands = []
    for octave, low, total in zip(OCTAVES, quiet, both, strict=True):
        speech = max(0.0, total - low) / share
        above = min(MOST, decibels(speech) - decibels(low))
        bands.append(Band(octave.nominal, decibels(low), decibels(speech), above))
    loudest = max(float(abs(noise).max()), float(abs(with_speech).max()))
    return Levels(whose, tuple(bands), loudest >= CLIPPED)


def advice(levels: Levels) -> tuple[str, ...]:
    """What follows, in sentences."""
    if levels.clipped:
        return ("The microphone is overdriven: lower its sensitivity, then measure again.",)
    if not levels.caught:
        return (_not_caught(levels.whose),)
    best = levels.best
    stands = (
        f"{'Your' if levels.whose is Whose.PILOT else 'Its'} speech stands {best.above:.0f} dB "
        f"above the noise in the octave of {best.octave} Hz; {ASKED:.0f} dB in at least one "
        f"octave is asked for (MIL-STD-1472E 5.3.4.1)."
    )
    if levels.whose is Whose.PILOT:
        return (stands, *_for_pilot(levels))
    return (stands, *_for_callout(levels), CAUTION)


def _not_caught(whose: Whose) -> str:
    if whose is Whose.PILOT:
        return "The microphone did not hear you above the noise: bring it nearer to your mouth."
    return (
        "The microphone did not hear callout above the noise. With a headset that is as it "
        "should be (give --headset to callout run): set its volume by ear. With a loudspeaker "
        "turn it up, then measure again. " + CAUTION
    )


def _for_pilot(levels: Levels) -> tuple[str, ...]:
    if levels.enough:
        return ("That is enough to be understood well.",)
    return ("Bring the microphone nearer to your mouth, or speak up, then measure again.",)


def _for_callout(levels: Levels) -> tuple[str, ...]:
    gain = levels.gain
    if gain is None:
        return (BY_HAND,)
    if gain == 0:
        return ("That is enough; leave the volume as it is.",)
    louder = "louder" if gain > 0 else "softer"
    return (f"Let callout speak {abs(gain)} dB {louder}: callout run ... --gain {gain}",)
