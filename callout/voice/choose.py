"""Which voice speaks: by name, and what to do when it cannot.

Rule of this file: it makes voices and knows their order; it says nothing itself.
"""

from __future__ import annotations

from collections.abc import Callable, Collection

from callout.voice.espeak_voice import EspeakVoice
from callout.voice.hibari_voice import HibariVoice
from callout.voice.protocol import Synthesiser, VoiceLost
from callout.voice.system_voice import SystemVoice

VOICES: dict[str, Callable[[], Synthesiser]] = {
    "hibari": HibariVoice,
    "espeak": EspeakVoice,
    "system": SystemVoice,
}
"""Every voice, in the order in which "bundled" tries them; the first needs nothing but pip."""

BUNDLED = "bundled"
"""The name that means: the best voice that is here."""


def make_voice(name: str = BUNDLED, but_not: Collection[str] = ()) -> Synthesiser:
    """The voice with this name; for "bundled" the first of VOICES that can be made.

    `but_not` leaves out voices that were lost already, so that a caller can go
    on to the next one. Raises VoiceLost with one sentence: no such name, that
    voice is not here, or no voice is.
    """
    if name == BUNDLED:
        return _first(but_not)
    if name not in VOICES:
        names = ", ".join((BUNDLED, *VOICES))
        raise VoiceLost(f'There is no voice called "{name}"; the voices are {names}')
    return VOICES[name]()


def _first(but_not: Collection[str]) -> Synthesiser:
    reasons = []
    for name, make in VOICES.items():
        if name in but_not:
            reasons.append(f"{name} was lost before")
            continue
        try:
            return make()
        except VoiceLost as lost:
            reasons.append(str(lost))
    raise VoiceLost("No voice is left: " + "; ".join(reasons))
