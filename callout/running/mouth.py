"""One voice at a time: what is said, what waits, what was cut.

Rule of this file: sentences become sound here and nowhere else. The most urgent
of what waits comes first. A warning cuts what is less, a caution cuts a remark;
else what is being said goes on to its end (one at a time, and the current one
finishes unless the more urgent would be late: AMC to CS-25, as quoted). What
was cut waits and is said again from its beginning, unless it is stale: dropped
by a StopSaying, followed by a newer one about the same, or no longer fresh.
Without a voice a sentence takes the time of reading it, so that the session
goes on; tones go on sounding as long as there is something to sound them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from callout.audio_block import AudioBlock
from callout.engine.effects import Priority, Say, ToneKind
from callout.voice.protocol import VoiceLost

READING_SECONDS_PER_WORD = 0.35
"""How long a sentence stays when no voice says it (common practice, no source)."""

NO_RECORDING = "There is no recording of it."

PAUSE = 0.15
"""Seconds between two sentences."""


class Output(Protocol):
    """Where sound goes: a loudspeaker, a file, or nowhere."""

    def start(self, clip: AudioBlock, at: float, now: float) -> None:
        """Sound the clip from session time `at` (s) on, `now` or soon after.  Raises VoiceLost."""

    def cut(self, at: float) -> None:
        """Be silent from session time `at` (s) on."""

    def close(self, at: float) -> None:
        """End at session time `at` (s)."""


class Words(Protocol):
    """Makes sentences and tones into sound."""

    def sentence(self, text: str) -> AudioBlock:
        """Raises VoiceLost."""

    def tone(self, kind: ToneKind) -> AudioBlock:
        """One of the tones."""


@dataclass(frozen=True, slots=True)
class _Waiting:
    say: Say
    since: float


@dataclass(frozen=True, slots=True)
class _Speaking:
    say: Say
    since: float
    ends_at: float


class Mouth:
    """Says sentences by priority; `ends_at` tells when the present one is over.

    Args:
        words: makes the sound; None: there is no voice from the start
        output: takes the sound
        on_lost: told in a sentence for people when the voice stops working, and
            again if the output then fails too
        said: told each sentence that sounds, and when it begins and ends (session time, s)
        recording: gives the recording of a squawk; None where there is none
    """

    def __init__(
        self,
        words: Words | None,
        output: Output,
        on_lost: Callable[[str], None],
        said: Callable[[str, float, float], None] = lambda text, began, ends: None,
        recording: Callable[[str], AudioBlock | None] = lambda key: None,
    ) -> None:
        self._words = words
        self._speaks = words is not None
        self._output = output
        self._on_lost = on_lost
        self._said = said
        self.recording = recording
        self._waiting: list[_Waiting] = []
        self._now: _Speaking | None = None
        self._free_at = 0.0

    @property
    def ends_at(self) -> float | None:
        """Session time (s) at which the sentence being said ends; None when silent."""
        return self._now.ends_at if self._now is not None else None

    @property
    def has_voice(self) -> bool:
        """Whether sentences are heard and not only shown."""
        return self._speaks

    def say(self, say: Say, now: float) -> None:
        """Say it when its turn comes.

        What waits and is about the same is stale and dropped.
        """
        if say.about:
            self._waiting = [one for one in self._waiting if one.say.about != say.about]
        if not say.patient:
            self._give_way(say.priority, now)
        self._wait(_Waiting(say, now))
        self._next(now)

    def stop(self, now: float, about: str = "", *, waiting_only: bool = False) -> None:
        """Cut and drop what is about this; with "" all that is no warning and no caution."""
        held = (Priority.WARNING, Priority.CAUTION)

        def stale(say: Say) -> bool:
            return say.about == about if about else say.priority not in held

        self._waiting = [one for one in self._waiting if not stale(one.say)]
        if self._now is not None and not waiting_only and stale(self._now.say):
            self._output.cut(now)
            self._now, self._free_at = None, now
        self._next(now)

    def tone(self, kind: ToneKind, now: float) -> None:
        """A tone sounds at once if nothing is being said; the next sentence follows it.

        The warning tone cuts what is being said as its sentence would, which follows.
        """
        if kind is ToneKind.WARNING:
            self._give_way(Priority.WARNING, now)
        if self._words is None or (self._speaks and self._now is not None):
            return
        self._sound_tone(kind, now)

    def _sound_tone(self, kind: ToneKind, now: float) -> None:
        """The tone, as soon as there is silence; what follows follows it."""
        if self._words is None:
            return
        clip = self._words.tone(kind)
        at = max(now, self._free_at)
        if self._sound(clip, at, now):
            self._free_at = at + clip.seconds

    def _give_way(self, priority: Priority, now: float) -> None:
        """Cut what must not wait for its end; it waits, to be said again from its beginning."""
        cut = self._now
        if cut is None or cut.say.priority <= priority:
            return
        remark = cut.say.priority is Priority.REMARK and priority is Priority.CAUTION
        if priority <= Priority.WARNING or remark:
            self._output.cut(now)
            self._now, self._free_at = None, now
            if not any(one.say.about == cut.say.about != "" for one in self._waiting):
                self._wait(_Waiting(cut.say, cut.since), first=True)

    def _wait(self, new: _Waiting, *, first: bool = False) -> None:
        """Put it behind what is as urgent, or before it."""
        level = new.say.priority - first
        place = sum(1 for one in self._waiting if one.say.priority <= level)
        self._waiting.insert(place, new)

    def over(self, now: float) -> int | None:
        """The sentence being said is over: its number, if it is, and the next one begins."""
        if self._now is None or self._now.ends_at > now:
            return None
        number = self._now.say.say
        self._now, self._free_at = None, now + PAUSE
        self._next(now)
        return number

    def _lose_voice(self, why: str) -> None:
        """No sentence is said from now on; tones still sound."""
        if self._speaks:
            self._speaks = False
            self._on_lost(why)

    def _lose_output(self, why: str) -> None:
        """Nothing sounds from now on."""
        if self._words is not None:
            self._words, self._speaks = None, False
            self._on_lost(why)

    def close(self, now: float) -> None:
        """Nothing more is said."""
        self._output.close(now)

    def _next(self, now: float) -> None:
        """Begin with the most urgent that is not stale, if nothing is being said."""
        while self._now is None and self._waiting:
            first = self._waiting.pop(0)
            say, since = first.say, first.since
            late = max(now, self._free_at) - since
            if say.fresh is not None and late > say.fresh:
                continue
            if say.tone is not None:
                self._sound_tone(say.tone, now)
            at = max(now, self._free_at)
            self._now = _Speaking(say, since, at + self._speak(say, at, now))

    def _speak(self, say: Say, at: float, now: float) -> float:
        """Sound it and tell how long it takes (s)."""
        if self._words is not None and self._speaks:
            try:
                clip = self._sentence(say)
            except VoiceLost as lost:
                self._lose_voice(str(lost))
            else:
                if self._sound(clip, at, now):
                    self._said(say.text, at, at + clip.seconds)
                    return clip.seconds
        return READING_SECONDS_PER_WORD * len(say.text.split())

    def _sentence(self, say: Say) -> AudioBlock:
        """What sounds: the words, or the recording that stands for them."""
        assert self._words is not None
        if not say.clip:
            return self._words.sentence(say.text)
        return self.recording(say.clip) or self._words.sentence(NO_RECORDING)

    def _sound(self, clip: AudioBlock, at: float, now: float) -> bool:
        try:
            self._output.start(clip, at, now)
        except VoiceLost as lost:
            self._lose_output(str(lost))
            return False
        return True
