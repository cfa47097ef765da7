"""Where the mouth's sound goes: loudspeaker, file, nowhere; and where it comes from.

Rule of this file: thin adapters between `mouth` and the rooms of `voice`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.engine.effects import ToneKind
from callout.running.moments import UNMARKED, Moments
from callout.running.playback import Playback
from callout.voice.choose import make_voice
from callout.voice.clips import CLIP_RATE, Clips
from callout.voice.loudspeaker import Loudspeaker
from callout.voice.protocol import VoiceLost
from callout.voice.tones import tone
from callout.voice.track import Track


class Nowhere:
    """No sound: the text is shown."""

    def start(self, clip: AudioBlock, at: float, now: float) -> None:
        """Nothing sounds."""

    def cut(self, at: float) -> None:
        """Nothing is cut."""

    def close(self, at: float) -> None:
        """Nothing is open."""


class ToFile:
    """Into a sound file, each clip at its session time."""

    def __init__(self, path: Path) -> None:
        self._track = Track(path, CLIP_RATE)

    def start(self, clip: AudioBlock, at: float, now: float) -> None:
        """Lay the clip at its time."""
        del now
        self._track.lay(clip, at)

    def cut(self, at: float) -> None:
        """Silence from here on."""
        self._track.cut(at)

    def close(self, at: float) -> None:
        """Write the rest."""
        self._track.close(at)


class ToLoudspeaker:
    """Out of a loudspeaker: session time and the world's are one.

    A clip that is to sound in a moment is handed over at once, behind what still
    sounds and the silence between the two, so that no tone is cut by the
    sentence after it and the gap does not depend on when the loop wakes up.
    """

    def __init__(self, loudspeaker: Loudspeaker, moments: Moments = UNMARKED) -> None:
        self._loudspeaker = loudspeaker
        self._moments = moments
        self._ends_at = 0.0

    def start(self, clip: AudioBlock, at: float, now: float) -> None:
        """Say the clip behind what still sounds."""
        silence = max(0.0, at - max(now, self._ends_at))
        self._moments.mark("ready", seconds=clip.seconds, silence=silence)
        self._loudspeaker.play(_after(silence, clip), follow=True)
        self._ends_at = at + clip.seconds

    def tapped_by(self, playback: Playback) -> None:
        """Let `playback` have what the device is given, when it is."""
        self._loudspeaker.tap = playback.heard

    def cut(self, at: float) -> None:
        """Be silent."""
        self._loudspeaker.stop()
        self._ends_at = at

    def close(self, at: float) -> None:
        """Give the device back."""
        del at
        self._loudspeaker.close()
        ran_out, reopened = self._loudspeaker.underflows, self._loudspeaker.reopened
        self._moments.mark("closed", ran_out=ran_out, reopened=reopened)


def _after(seconds: float, clip: AudioBlock) -> AudioBlock:
    """The clip behind so much silence."""
    if not seconds:
        return clip
    silence = np.zeros(round(seconds * clip.rate), np.float32)
    return AudioBlock(np.concatenate((silence, clip.samples)), clip.rate)


class OnlyTones:
    """Tones by code, and no sentence: what is left when no voice can be made.

    Args:
        why: there is no voice, in a sentence for people
    """

    def __init__(self, why: str) -> None:
        self._why = why
        self._tones = {kind: tone(kind, CLIP_RATE) for kind in ToneKind}

    def sentence(self, text: str) -> AudioBlock:
        """Raises VoiceLost."""
        del text
        raise VoiceLost(self._why)

    def tone(self, kind: ToneKind) -> AudioBlock:
        """The tone as sound."""
        return self._tones[kind]

    def at_once(self, text: str) -> bool:
        """Whether the sentence needs no making."""
        del text
        return False

    def prepare(self, sentences: Iterable[str]) -> None:
        """Nothing can be made ahead."""

    def close(self) -> None:
        """Nothing is being made."""


class PreparedWords(OnlyTones):
    """Sentences from kept clips, tones by code."""

    def __init__(self, clips: Clips) -> None:
        super().__init__("")
        self._clips = clips

    def sentence(self, text: str) -> AudioBlock:
        """The sentence as sound.  Raises VoiceLost."""
        return self._clips.get(text)

    def at_once(self, text: str) -> bool:
        """Whether the sentence is in memory."""
        return self._clips.at_once(text)

    def prepare(self, sentences: Iterable[str]) -> None:
        """Make these ahead, in the background."""
        self._clips.prepare(sentences)

    def close(self) -> None:
        """Stop preparing."""
        self._clips.close()


def prepared_words(voice: str, folder: Path, but_not: Collection[str] = ()) -> PreparedWords:
    """The named voice with its clips.  Raises VoiceLost if there is none."""
    return PreparedWords(Clips(make_voice(voice, but_not), folder))


def words_or_tones(voice: str, folder: Path) -> OnlyTones:
    """The named voice with its clips; tones alone if there is none."""
    try:
        return prepared_words(voice, folder)
    except VoiceLost as lost:
        return OnlyTones(str(lost))
