"""One word or phrase after another through every ear: understood, refused, or mistaken.

Rule of this file: each recording is a stream of its own, with noise before,
over and after the words, and all ears hear the same samples.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from callout.audio_block import AudioBlock, Samples
from callout.benches.figures import Outcome, Result
from callout.ear.protocol import Ear
from callout.engine.events import Heard, NotUnderstood
from callout.running.recording_sets import RATE, Clip, mean_power, mixed, pad
from callout.words.phrases import Grammar, Phrase
from callout.words.understand import plain

BLOCK = 320
"""Samples in one block, as a sound card hands them over (20 ms)."""
APART = 60.0
"""Recordings are so many seconds apart, which no ear takes for one stream."""

Decided = tuple[float, Heard | NotUnderstood]
"""Session time of the end of the block at which an event came, and the event."""


@dataclass(frozen=True, slots=True)
class Setting:
    """How recordings are presented.

    Fields:
        snrs: conditions in dB, None for clean
        before, after: seconds of noise alone around each recording
        certainty: what the phrases ask for, 0 .. 1
        whole: speech is as loud as its whole recording, not as its active parts
    """

    snrs: tuple[float | None, ...] = (None,)
    before: float = 0.5
    after: float = 1.2
    certainty: float = 0.5
    whole: bool = False


@dataclass(slots=True)
class Meter:
    """Processor seconds that each ear took for how many seconds of sound."""

    took: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    sound: dict[str, float] = field(default_factory=lambda: defaultdict(float))

    def share(self, ear: str) -> float:
        """Processor seconds per second of sound."""
        return self.took[ear] / max(1e-9, self.sound[ear])


def closed_set(texts: Sequence[str], certainty: float) -> Grammar:
    """A grammar of texts that all count alike; each text is its own meaning."""
    unique = dict.fromkeys(plain(text) for text in texts)
    return Grammar(1, tuple(Phrase(text, text, certainty) for text in unique if text))


def hear_all(
    ears: Sequence[Ear],
    clips: Sequence[Clip],
    noises: Sequence[Clip],
    grammar: Grammar,
    setting: Setting,
    meter: Meter,
    told: Callable[[int], None] = lambda _: None,
) -> Iterator[Outcome]:
    """Present every clip in every condition to every ear; `told` counts presentations."""
    for ear in ears:
        ear.listen_for(grammar)
    at, presented = 0.0, 0
    for snr in setting.snrs:
        for clip in clips:
            power = mean_power(clip.samples) if setting.whole else None
            sound = mixed(pad(clip, setting.before, setting.after), noises, snr, power)
            for ear in ears:
                events = listen(ear, sound, at, meter)
                yield outcome(ear, clip, snr, events if setting.certainty else surest(events))
            at += len(sound) / RATE + APART
            presented += 1
            told(presented)


def listen(ear: Ear, sound: Samples, at: float, meter: Meter) -> list[Decided]:
    """Feed one stream, block by block; what was decided, and when."""
    found: list[Decided] = []
    began = time.process_time()
    for begin in range(0, len(sound), BLOCK):
        block = AudioBlock(sound[begin : begin + BLOCK], RATE, at + begin / RATE)
        found += [(block.ends_at, event) for event in ear.hear(block)]
    meter.took[ear.name] += time.process_time() - began
    meter.sound[ear.name] += len(sound) / RATE
    return found


def surest(events: Sequence[Decided]) -> list[Decided]:
    """Of a closed set exactly one text was said: the surest of what was understood is it."""
    heard = [pair for pair in events if isinstance(pair[1], Heard)]
    return [max(heard, key=lambda pair: pair[1].certainty)] if heard else list(events)


def outcome(ear: Ear, clip: Clip, snr: float | None, events: Sequence[Decided]) -> Outcome:
    """Judge what an ear said about one clip.

    Correct: all that was accepted is the text. Wrong: anything else was
    accepted. Rejected: nothing was; `said` is then the surest guess.
    """
    text = plain(clip.text)
    accepted = [(at, event) for at, event in events if isinstance(event, Heard)]
    if not accepted:
        guesses = [event for _, event in events if isinstance(event, NotUnderstood)]
        guess = max(guesses, key=lambda event: event.certainty, default=None)
        said = (guess.guess, guess.certainty) if guess else ("", 0.0)
        return Outcome(ear.name, snr, text, said[0], Result.REJECTED, clip.speaker, said[1])
    astray = [pair for pair in accepted if plain(pair[1].text) != text]
    at, event = astray[0] if astray else accepted[0]
    result = Result.WRONG if astray else Result.CORRECT
    waited = at - event.ended
    said_text = plain(event.text)
    return Outcome(ear.name, snr, text, said_text, result, clip.speaker, event.certainty, waited)
