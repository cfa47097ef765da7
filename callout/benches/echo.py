"""Every call of a checklist through a loudspeaker into the microphone: what it is taken for.

Rule of this file: the loop is arithmetic, in recording time: the same calls,
levels and ways give the same result. What is played is callout's own voice;
what a pilot says over it comes from a set of recordings.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.benches.echo_room import SLIPS, Loop, answered, overdriven
from callout.benches.false_accepts import ticks
from callout.checklist.model import Aircraft
from callout.ear.echo_guard import OwnVoiceGuard
from callout.ear.protocol import Ear
from callout.engine import wording
from callout.engine.events import Heard, NotUnderstood
from callout.running.asked import Asked, Kind, asked
from callout.running.playback import Playback
from callout.running.recording_sets import RATE, Clip
from callout.running.speech_level import speech_power
from callout.voice.shape import resampled
from callout.words.phrases import Phrase

PILOT = 0.05
"""Level at which the pilot is caught: -26 dB of full scale."""
FLOOR = 0.0005
"""Noise of a quiet room and its microphone (-66 dB of full scale)."""
Event = Heard | NotUnderstood
BLOCK = 320
PAUSE = 1.2
"""Seconds after each call."""
SPEAKS_AFTER = 0.3
"""Seconds into the call, or after it, at which the pilot begins to speak."""
SPOKEN_OVER = "a pilot speaks over them"
SPOKEN_AFTER = "a pilot answers the first of a session"
LEARNING = 10.0
"""Seconds of calls that were heard before the first that counts, in a session under way."""


@dataclass(frozen=True, slots=True)
class Call:
    """A sentence, its sound at RATE, and the item whose grammar counts while it is said."""

    text: str
    sound: Samples
    asked: Asked


@dataclass(slots=True)
class Echoed:
    """What became of all calls through one loop.

    Fields:
        calls: how many were played
        ticked: (call, words) that would have ticked the item
        other: (call, words) that counted for something else
        asked_again: how often callout would have said that it did not understand
        spoken: how often a pilot spoke over a call, and understood: how often he was understood
        passed_over: how often he was neither understood nor asked again
    """

    loop: Loop
    calls: int = 0
    ticked: list[tuple[str, str]] = field(default_factory=list)
    other: list[tuple[str, str]] = field(default_factory=list)
    asked_again: int = 0
    spoken: int = 0
    understood: int = 0
    passed_over: int = 0


def calls(aircraft: Aircraft, voice: Callable[[str], AudioBlock], worst: bool) -> list[Call]:
    """Every prompt of the aircraft; `worst`: each with its own right answer behind it."""
    return [
        Call(text, resampled(voice(text), RATE).samples, one)
        for kind in Kind
        for one in asked(aircraft, kind)
        for text in [_text(aircraft, one, worst)]
    ]


def _text(aircraft: Aircraft, one: Asked, worst: bool) -> str:
    text = wording.prompt(aircraft, one.item)
    right = next((p.text for p in one.grammar.phrases if ticks(one, p.text)), "")
    return f"{text[:-1]}, {right}?" if worst and right else text


def ways(
    ear: Ear,
    aircraft: Aircraft,
    voice: Callable[[str], AudioBlock],
    loop: Loop,
    pilot: Sequence[Clip] = (),
    noise: Samples | None = None,
    guarded: bool = True,
) -> Iterator[tuple[str, Echoed]]:
    """Play the calls of an aircraft through a loop in every way, and name each."""
    plain, worst = calls(aircraft, voice, worst=False), calls(aircraft, voice, worst=True)
    way = partial(echoed, ear, loop=loop, noise=noise, guarded=guarded)
    yield "as they are", way(plain)
    yield "with their answers", way(worst)
    yield "at the beginning", way(plain, afresh=True)
    yield "with their answers at the beginning", way(worst, afresh=True)
    yield "with their answers, devices slip", way(worst, loop=replace(loop, slips=True))
    if pilot:
        yield SPOKEN_OVER, way(plain, pilot=pilot)
        yield SPOKEN_AFTER, way(plain, pilot=pilot, afresh=True, after=True)


def echoed(
    ear: Ear,
    said: Sequence[Call],
    loop: Loop,
    pilot: Sequence[Clip] = (),
    noise: Samples | None = None,
    guarded: bool = True,
    afresh: bool = False,
    after: bool = False,
) -> Echoed:
    """Play all calls through a loop into an ear; with a `pilot`, one recording over each.

    `noise` is under everything; `afresh`: nothing is known of the room at each
    call, as at the first of a session; `after`: the pilot speaks just after the call;
    not `guarded`: the ear hears all of it.
    """
    result = Echoed(loop, len(said))
    session = _Session(ear, loop, noise, guarded)
    for call in said if not afresh else ():
        if session.seconds > LEARNING:
            break
        session.play(call.sound)
    for place, call in enumerate(said):
        if afresh:
            session = _Session(ear, loop, noise, guarded, session.ends_at + 60.0)
        clip = pilot[place * 7 % len(pilot)] if pilot else None
        begins = SPEAKS_AFTER + (len(call.sound) / RATE if after else 0.0)
        _one(session, call, clip, result, begins)
    return result


def _one(session: _Session, call: Call, clip: Clip | None, result: Echoed, begins: float) -> None:
    """One call, what a pilot says from `begins` (s) on, and what was understood of it all."""
    grammar = call.asked.grammar
    if clip is not None:
        others = tuple(phrase for phrase in grammar.phrases if phrase.text != clip.text)
        sure = max((phrase.certainty for phrase in grammar.phrases), default=0.5)
        grammar = replace(grammar, phrases=(*others, Phrase(clip.text, "answer:own", sure)))
        result.spoken += 1
    session.guard.listen_for(replace(grammar, serial=session.serial()))
    events = session.play(call.sound, call.text, clip, begins)
    words = [event.text for event in events if isinstance(event, Heard)]
    result.asked_again += len(events) - len(words)
    if clip is not None:
        result.understood += clip.text in words
        result.passed_over += not events
        words = [text for text in words if text != clip.text]
    for text in words:
        into = result.ticked if ticks(call.asked, text) else result.other
        into.append((call.text, text))


class _Session:
    """A loop that runs: what was played comes back for a while."""

    def __init__(
        self, ear: Ear, loop: Loop, noise: Samples | None, guarded: bool, begins_at: float = 0.0
    ) -> None:
        self._playback = Playback()
        self.guard: Ear = OwnVoiceGuard(ear, self._playback) if guarded else ear
        self._loop = loop
        self._slipped = 0
        self._gain = PILOT * 10 ** (loop.level / 20)
        self._noise = noise
        self._tail = np.zeros(0, np.float32)
        self._random = np.random.default_rng(2)
        self._first = round(begins_at * RATE / BLOCK) * BLOCK
        self._place = self._first
        self._serial = 0
        self._hear(np.zeros(RATE, np.float32))

    @property
    def seconds(self) -> float:
        """How long it has run."""
        return (self._place - self._first) / RATE

    @property
    def ends_at(self) -> float:
        """Session time (s)."""
        return self._place / RATE

    def serial(self) -> int:
        """A number for the next grammar."""
        self._serial += 1
        return self._serial

    def play(
        self, sound: Samples, text: str = "", clip: Clip | None = None, speaks_at: float = 0.0
    ) -> list[Event]:
        """Say a call, and let a pilot speak; what was understood until the pause after it."""
        at = self._place / RATE
        self._playback.lay(AudioBlock(sound, RATE), at)
        self._playback.saying(text, at, at + len(sound) / RATE)
        spoken = _begin_to_end(clip.samples) if clip is not None else np.zeros(0, np.float32)
        begins = round(speaks_at * RATE)
        longest = max(len(sound), begins + len(spoken)) + round(PAUSE * RATE)
        caught = np.zeros(-(-longest // BLOCK) * BLOCK, np.float32)
        caught += self._echo(sound, len(caught))
        caught[begins : begins + len(spoken)] += spoken
        return self._hear(caught)

    def _echo(self, sound: Samples, count: int) -> Samples:
        """What comes back of a call in `count` samples; the rest later."""
        driven = overdriven(sound)
        driven *= self._gain / np.sqrt(speech_power(driven))
        half = len(driven) // 2 if self._loop.slips else len(driven)
        first = answered(driven[:half], self._loop.answer(self._slip()))
        second = answered(driven[half:], self._loop.answer(self._slip()))
        echo = np.zeros(half + max(len(first), len(second)), np.float32)
        echo[: len(first)] += first
        echo[half : half + len(second)] += second
        longer = max(len(self._tail), len(echo), count)
        both = np.zeros(longer, np.float32)
        both[: len(self._tail)] += self._tail
        both[: len(echo)] += echo
        self._tail = both[count:]
        return both[:count]

    def _slip(self) -> float:
        """By how much the device has slipped now (s)."""
        self._slipped += self._loop.slips
        return SLIPS[self._slipped % len(SLIPS)]

    def _hear(self, caught: Samples) -> list[Event]:
        caught = caught + self._random.normal(0, FLOOR, len(caught)).astype(np.float32)
        if self._noise is not None:
            caught += np.resize(np.roll(self._noise, -self._place), len(caught))
        events: list[Event] = []
        for begin in range(0, len(caught), BLOCK):
            block = AudioBlock(caught[begin : begin + BLOCK], RATE, self._place / RATE)
            events += self.guard.hear(block)
            self._place += BLOCK
        return events


def _begin_to_end(samples: Samples) -> Samples:
    """A recording at the PILOT's level, without what is silent around it."""
    loud = np.flatnonzero(np.abs(samples) > 0.02 * np.abs(samples).max(initial=1e-9))
    if not len(loud):
        return samples[:0]
    cut = samples[loud[0] : loud[-1] + round(0.05 * RATE)]
    level: float = PILOT / float(np.sqrt(speech_power(cut)))
    return (cut * level).astype(np.float32, copy=False)


def noise_at(clips: Sequence[Clip], ratio: float) -> Samples:
    """All noises one after another, `ratio` dB below the pilot."""
    parts = [clip.samples * PILOT * 10 ** (-ratio / 20) / _rms(clip.samples) for clip in clips]
    return np.concatenate(parts).astype(np.float32)


def _rms(samples: Samples) -> float:
    return float(np.sqrt((samples.astype(np.float64) ** 2).mean())) + 1e-9
