"""The face that every synthesiser shows: a sentence in, samples out.

Rule of this file: no engine is named here. A synthesiser may be slow and may
fail; clips.py prepares and keeps what it makes, so that speech starts at once.
"""

from __future__ import annotations

from typing import Protocol

from callout.audio_block import AudioBlock


class VoiceLost(Exception):  # noqa: N818 - the name is the sentence
    """A synthesiser or loudspeaker stopped working; the text is for people."""


class Synthesiser(Protocol):
    """One voice.

    Fields:
        name: "espeak", "hibari", "system" ...
        identity: name, version and settings; two voices that sound different differ here
    """

    name: str
    identity: str

    def synthesise(self, sentence: str) -> AudioBlock:
        """The sentence as sound, mono.  Raises VoiceLost with one sentence for people."""
