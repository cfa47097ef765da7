"""Where the mouth's sound goes: loudspeaker, file, nowhere; and where it comes from.

Rule of this file: thin adapters between `mouth` and the rooms of `voice`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from pathlib import Path

from callout.audio_block import AudioBlock
from callout.engine.effects import ToneKind
from callout.voice.choose import make_voice
from callout.voice.clips import CLIP_RATE, Clips
from callout.voice.loudspeaker import Loudspeaker
from callout.voice.tones import tone
from callout.voice.track import Track


class Nowhere:
    """No sound: the text is shown."""

    def start(self, clip: AudioBlock, at: float) -> None:
        """Nothing sounds."""

    def cut(self, at: float) -> None:
        """Nothing is cut."""

    def close(self, at: float) -> None:
        """Nothing is open."""


class ToFile:
    """Into a sound file, each clip at its session time."""

    def __init__(self, path: Path) -> None:
        self._track = Track(path, CLIP_RATE)

    def start(self, clip: AudioBlock, at: float) -> None:
        """Lay the clip at its time."""
        self._track.lay(clip, at)

    def cut(self, at: float) -> None:
        """Silence from here on."""
        self._track.cut(at)

    def close(self, at: float) -> None:
        """Write the rest."""
        self._track.close(at)


class ToLoudspeaker:
    """Out of a loudspeaker, now: session time and the world's are one."""

    def __init__(self, loudspeaker: Loudspeaker) -> None:
        self._loudspeaker = loudspeaker

    def start(self, clip: AudioBlock, at: float) -> None:
        """Say the clip."""
        del at
        self._loudspeaker.play(clip)

    def cut(self, at: float) -> None:
        """Be silent."""
        del at
        self._loudspeaker.stop()

    def close(self, at: float) -> None:
        """Give the device back."""
        del at
        self._loudspeaker.close()


class PreparedWords:
    """Sentences from kept clips, tones by code."""

    def __init__(self, clips: Clips) -> None:
        self._clips = clips
        self._tones = {kind: tone(kind, CLIP_RATE) for kind in ToneKind}

    def sentence(self, text: str) -> AudioBlock:
        """The sentence as sound.  Raises VoiceLost."""
        return self._clips.get(text)

    def tone(self, kind: ToneKind) -> AudioBlock:
        """The tone as sound."""
        return self._tones[kind]

    def prepare(self, sentences: Iterable[str]) -> None:
        """Make these ahead, in the background."""
        self._clips.prepare(sentences)

    def close(self) -> None:
        """Stop preparing."""
        self._clips.close()


def prepared_words(voice: str, folder: Path, but_not: Collection[str] = ()) -> PreparedWords:
    """The named voice with its clips.  Raises VoiceLost if there is none."""
    return PreparedWords(Clips(make_voice(voice, but_not), folder))
