"""Words said by a voice that is not callout's, kept as clips, for tests that play them to an ear.

Rule of this file: the same words are the same samples, in every process and on
every machine. eSpeak NG draws random numbers and keeps a state between calls, so
what it says just now may be heard differently tomorrow; these clips were made once.

To add one: put it into WORDS and run `python tests/spoken_words.py` (needs
espeakng-loader); clips that are there already stay as they are.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import numpy as np
import soundfile

RATE = 16_000
"""Samples a second; sound is mono, full scale 1.0."""

_FOLDER = Path(__file__).parent / "spoken"
_VOICE, _PACE = "en-us+f2", 110

WORDS = (
    *(
        (text, _VOICE, _PACE)
        for text in ("closed", "connected", "disconnected", "five zero", "free to turn", "removed")
    ),
    *(
        (text, _VOICE, 120)
        for text in (
            "closed",
            "disregard",
            "end squawk",
            "play squawk",
            "squawk",
            "the left skid fairing has a crack near the rear bolt",
        )
    ),
    ("in position", "en-us", 120),
    ("all clear", "en-us+f3", 120),
    ("free to turn", "en-us+m1", 140),
    ("calm", "en-us+m1", 140),
    ("fastened", "en-us+m3", 120),
    ("full and free", _VOICE, 130),
    ("fully closed", _VOICE, 130),
    ("own battery", "en-us+m1", 140),
    ("two five point one", _VOICE, 130),
    ("all burning", "en-us+m1", 150),
    ("two zero", _VOICE, 130),
    ("확인", "ko", 140),
    ("아니오", "ko", 140),
    ("오늘 날씨가 좋아요", "ko", 140),
)
"""What is kept: the words, eSpeak NG's voice, its pace in words a minute."""


def spoken(text: str, voice: str = _VOICE, pace: int = _PACE) -> np.ndarray:
    """The clip, at RATE.  Raises KeyError when it is not kept."""
    return _clips()[text, voice, pace].copy()


@cache
def _clips() -> dict[tuple[str, str, int], np.ndarray]:
    if not (_FOLDER / "words.json").exists():
        return {}
    sound, rate = soundfile.read(_FOLDER / "words.flac", dtype="float32")
    assert rate == RATE
    found, begin = {}, 0
    for text, voice, pace, samples in json.loads(
        (_FOLDER / "words.json").read_text(encoding="utf-8")
    ):
        found[text, voice, pace] = sound[begin : begin + samples]
        begin += samples
    assert begin == len(sound)
    return found


def _make() -> None:
    import soxr

    from callout.voice.espeak_voice import EspeakVoice

    clips = dict(_clips())
    for text, voice, pace in WORDS:
        if (text, voice, pace) not in clips:
            block = EspeakVoice(voice, pace).synthesise(text)
            clips[text, voice, pace] = soxr.resample(block.samples, block.rate, RATE)
    kept = [(*one, clips[one]) for one in WORDS]
    _FOLDER.mkdir(exist_ok=True)
    sound = np.concatenate([samples for *_, samples in kept])
    soundfile.write(_FOLDER / "words.flac", sound, RATE, subtype="PCM_16")
    listed = ",\n".join(
        json.dumps([text, voice, pace, len(samples)], ensure_ascii=False)
        for text, voice, pace, samples in kept
    )
    (_FOLDER / "words.json").write_text(f"[\n{listed}\n]\n", encoding="utf-8")


if __name__ == "__main__":
    _make()
