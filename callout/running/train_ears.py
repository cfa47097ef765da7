"""Two people, two microphones: each ear says whose words it heard.

Rule of this file: an ear around another ear. The name of the person stands at the end
of an event's source, behind a colon.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from callout.audio_block import AudioBlock
from callout.ear.protocol import Ear
from callout.engine.events import Event, Heard, Lost, NotUnderstood
from callout.running.live import Ended, Inbox, InputClosed, Typed
from callout.trainer.model import Speaker
from callout.words.phrases import Grammar


class Tagged:
    """The ear of one person."""

    def __init__(self, ear: Ear, who: Speaker) -> None:
        self.name, self.rate = ear.name, ear.rate
        self._ear = ear
        self._who = who

    def listen_for(self, grammar: Grammar) -> None:
        """As the ear does."""
        self._ear.listen_for(grammar)

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        """As the ear does; whose words they are is said."""
        heard = self._ear.hear(sound)
        return [replace(one, source=f"{one.source}:{self._who.value}") for one in heard]

    def close(self) -> None:
        """As the ear does."""
        self._ear.close()


class Whose(Inbox):
    """The way into an inbox for one of two microphones: a loss says whose it is."""

    def __init__(self, inbox: Inbox, who: Speaker) -> None:
        super().__init__()
        self._inbox = inbox
        self._who = who

    def put(
        self,
        item: Event | Typed | InputClosed | Ended,
        block: bool = True,
        timeout: float | None = None,
    ) -> None:
        """Into the inbox it goes; whose microphone was lost is said."""
        if isinstance(item, Lost):
            item = Lost(item.part, f"the {self._who.value}'s; {item.what}")
        self._inbox.put(item)


class PairedEar:
    """Two recordings side by side: the pilot's is given, the helper's is read along."""

    def __init__(self, pilot: Ear, helper: Ear, sound: Iterator[AudioBlock]) -> None:
        self.name, self.rate = pilot.name, pilot.rate
        self._pilot = Tagged(pilot, Speaker.PILOT)
        self._helper = Tagged(helper, Speaker.HELPER)
        self._sound = sound

    def listen_for(self, grammar: Grammar) -> None:
        """As both ears do."""
        self._pilot.listen_for(grammar)
        self._helper.listen_for(grammar)

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        """What both ears heard, in the order in which it was said."""
        heard = list(self._pilot.hear(sound))
        beside = next(self._sound, None)
        if beside is not None:
            heard += self._helper.hear(beside)
        return sorted(heard, key=lambda one: one.began)

    def close(self) -> None:
        """As both ears do."""
        self._pilot.close()
        self._helper.close()
