"""What every ear that hears sound has in common: cut it, decode it, judge it.

Rule of this file: no engine is named here. An engine is a Decoder; this makes
an Ear of it, so that timing, late grammars and refusals are the same for all.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from callout.audio_block import AudioBlock, Samples
from callout.ear.endpoint import RATE, Endpointer, Utterance
from callout.ear.verdict import NOT_IN_GRAMMAR, Guess, Spoken, judge, refuse
from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar

NUMBER_PATIENCE = 0.5
"""Silence that ends an utterance while a number counts (s): digits are spoken with pauses."""


class Decoder(Protocol):
    """One acoustic engine.

    Fields:
        name: as in Ear
    """

    name: str

    def prepare(self, grammar: Grammar) -> None:
        """Compile a grammar, so that the next `decode` with it starts at once."""

    def decode(self, sound: Samples, grammar: Grammar) -> Guess:
        """Say what 16 kHz sound, one utterance, most likely is; the same sound, the same guess."""

    def close(self) -> None:
        """Give back models and memory."""


class SpokenEar:
    """An ear made of an endpointer and a decoder."""

    rate = RATE

    def __init__(self, decoder: Decoder, endpointer: Endpointer | None = None) -> None:
        self.name = decoder.name
        self._decoder = decoder
        self._endpointer = endpointer or Endpointer()
        self._now = Grammar(0)
        self._asked = Grammar(0)

    def listen_for(self, grammar: Grammar) -> None:
        """From the next sound on, this is what counts.

        What is already being said answers the grammar that counted when it
        began; its serial shows that it is late.
        """
        self._decoder.prepare(grammar)
        self._now = grammar
        if self._endpointer.speaking_since is None:
            self._ask()

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        """Take the next block of 16 kHz sound; return what was understood.  A line is nothing."""
        if isinstance(sound, str):
            return ()
        events = []
        for utterance in self._endpointer.feed(sound):
            events.append(self._judge(utterance))
            self._ask()
        if self._endpointer.speaking_since is None:
            self._ask()
        return events

    def close(self) -> None:
        """Give back models and memory."""
        self._decoder.close()

    def _ask(self) -> None:
        self._asked = self._now
        manner = self._endpointer.manner
        self._endpointer.patience = NUMBER_PATIENCE if self._now.numbers else manner.patience

    def _judge(self, utterance: Utterance) -> Heard | NotUnderstood:
        spoken = Spoken(utterance.began, utterance.ended, self.name)
        if not utterance.whole:
            return refuse(NOT_IN_GRAMMAR, Guess("", 0.0), self._asked, spoken)
        guess = self._decoder.decode(utterance.sound.samples, self._asked)
        return judge(guess, self._asked, spoken)
