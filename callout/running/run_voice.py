"""The voice of a run: its words, where they sound, and what is said where there is none.

Rule of this file: what cannot be had at the start is told in a sentence (`lost`);
the list goes on without it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from callout.running.gain import Louder
from callout.running.moments import UNMARKED, Moments, Unmarked, from_monotonic
from callout.running.mouth import Mouth, Output, Words
from callout.running.outputs import Nowhere, OnlyTones, ToFile, ToLoudspeaker, words_or_tones
from callout.running.phone_output import ToPhone
from callout.running.playback import Playback
from callout.running.settings import Device, Phone, RunSettings
from callout.running.sources import check
from callout.voice.loudspeaker import Loudspeaker
from callout.voice.mixer import Playing
from callout.voice.protocol import VoiceLost


class RunVoice:
    """Words and output for a run, and the sentence to say if there is no voice."""

    def __init__(
        self,
        settings: RunSettings,
        on_lost: Callable[[VoiceLost], None],
        moments: Moments = UNMARKED,
        phone: ToPhone | None = None,
    ) -> None:
        self.lost = ""
        self.words: OnlyTones | None = None
        self.output: Output = Nowhere()
        self.gain = settings.gain
        if settings.speak is None:
            return
        try:
            self.output = phone or _output(settings.speak, on_lost, moments)
            self.words = words_or_tones(settings.voice, settings.clips)
        except VoiceLost as lost:
            self.lost = str(lost)

    def mouth(self, on_lost: Callable[[str], None], playback: Playback | None = None) -> Mouth:
        """A mouth that speaks, or one that only keeps the time of reading."""
        words: Words | None = self.words
        if playback is not None and isinstance(self.output, ToLoudspeaker | ToPhone):
            self.output.tapped_by(playback)
        output = Louder(self.output, self.gain) if self.gain else self.output
        return Mouth(words, output, on_lost, playback.saying if playback else _silent)

    def at_once(self, text: str) -> bool:
        """Whether this sentence would sound without delay."""
        return self.words is not None and self.words.at_once(text)

    def close(self) -> None:
        """Stop preparing clips."""
        if self.words is not None:
            self.words.close()


def _output(
    speak: Device | Path | Phone, on_lost: Callable[[VoiceLost], None], moments: Moments
) -> Output:
    if isinstance(speak, Path):
        return ToFile(speak)
    if isinstance(speak, Phone):
        raise VoiceLost("A phone speaks only in a live session with --glance")

    def changed(at: float, playing: Playing | None) -> None:
        seconds = len(playing.samples) / loudspeaker.rate if playing is not None else 0.0
        moments.mark("out", from_monotonic(at), seconds=seconds)

    loudspeaker = Loudspeaker(
        speak.words,
        on_lost,
        check=lambda: _still_there(speak.words),
        on_change=None if isinstance(moments, Unmarked) else changed,
    )
    return ToLoudspeaker(loudspeaker, moments)


def _silent(text: str, began: float, ends: float) -> None:
    """Nobody keeps what is said."""


def _still_there(words: str) -> None:
    if wrong := check("loudspeaker", words):
        raise VoiceLost(wrong)
