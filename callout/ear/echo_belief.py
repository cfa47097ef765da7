"""Whether what the ear understood while callout sounded was said by a person.

Rule of this file: it judges events and changes none; in doubt it was nobody. Each
kind of evidence stands in a file of its own: gates in echo_gate.py, nearness in
echo_near.py, words in echo_words.py, the front of an echo in echo_lag.py.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from typing import Protocol

import numpy as np

from callout.audio_block import Samples
from callout.ear.echo import BLOCK
from callout.ear.echo_gate import OPENS, Gates
from callout.ear.echo_lag import front
from callout.ear.echo_near import REMEMBERED, Nearness
from callout.ear.echo_words import sounds_like_part
from callout.engine.events import Heard, NotUnderstood

RATE = 16_000
LATER = 6.0
"""So many seconds after a gate its own words, and what was not understood, are still doubted as
long as nobody knows how late the echo comes."""
BESIDE = 0
"""Utterances with so few blocks of callout's voice in them are not doubted."""
SHARE, LIKENESS = 0.6, 0.5
"""Evidence asked of every word: somebody near in so much of it, and no more like the echo."""
MOST_SHARE, MORE_LIKENESS = 0.85, 0.7
"""Or so: who was near all along may speak in step with callout by chance."""
MORE_SHARE, LESS_LIKENESS = 0.75, 0.4
"""The same for what sounds like callout's own words."""
ANY_SHARE = 0.25
"""Evidence enough that somebody spoke, of whom nothing can count."""
SURE = 0.7
"""So sure the ear must be of words spoken over callout's voice: of a number that it got wrong there
it was 0.51 sure, of 94 that it got right 0.75 and more."""
SHARP = 16.0
"""An utterance in which callout's voice has a front so sharp is callout's own. Over 0.4 to 1 s
its own voice has 20 and more in every room of `callout bench own-voice`, also in live ones, and
a pilot 12 and less, whether what is left of the echo under him is 20 dB below him or nothing."""
TOO_SOON = "spoken too soon after callout"
RUNS_UP = 12
"""Blocks of callout's voice before an utterance whose echo may be in it."""
LINGERS = 0.6
"""Words said up to so many seconds before an utterance may be what was heard."""


class Played(Protocol):
    """What callout lets sound, by session time in samples at 16 kHz."""

    def sound(self, first: int, count: int) -> Samples:
        """The samples from number `first` on, shape [count]; silence where nothing sounded."""

    def said(self, began: float, ended: float) -> Sequence[str]:
        """The sentences of which something sounded between two session times (s)."""


class Belief:
    """Remembers what was left of each block, and weighs events by it."""

    def __init__(self, near: Nearness, gates: Gates, played: Played) -> None:
        self._near = near
        self._gates = gates
        self._played = played
        self._kept: deque[tuple[int, Samples, Samples]] = deque(maxlen=REMEMBERED)

    def remember(self, number: int, known: Samples, rest: Samples) -> None:
        """Keep what callout let sound in the block of this number, and what was left of it."""
        self._kept.append((number, known, rest))

    def is_person(self, event: Heard | NotUnderstood, *, way_is_known: bool) -> bool:
        """Whether there is evidence enough that a person said it."""
        if self._gates.cover(event.began, event.ended, OPENS):
            return False
        if not way_is_known and self._may_be_late(event):
            return False
        first, last = (int(at * RATE) // BLOCK for at in (event.began, event.ended))
        evidence = self._near.evidence(first, last)
        if evidence.blocks <= BESIDE:
            return True
        if isinstance(event, NotUnderstood) or event.certainty < SURE:
            return False
        if self._has_front(first, last):
            return False
        share, likeness = evidence.share, evidence.likeness
        said = self._played.said(event.began - LINGERS, event.ended)
        if any(sounds_like_part(event.text, one) for one in said):
            return share >= MORE_SHARE and likeness <= LESS_LIKENESS
        usual = share >= SHARE and likeness <= LIKENESS
        return usual or (share >= MOST_SHARE and likeness <= MORE_LIKENESS)

    def somebody_spoke(self, event: Heard | NotUnderstood) -> bool:
        """Whether it was a person, whatever he said, where the ear could hear at all."""
        first, last = (int(at * RATE) // BLOCK for at in (event.began, event.ended))
        if self._gates.cover(event.began, event.ended, OPENS):
            return False
        evidence = self._near.evidence(first, last)
        near = evidence.share >= ANY_SHARE and evidence.likeness <= LIKENESS
        return near and not self._has_front(first, last)

    def _may_be_late(self, event: Heard | NotUnderstood) -> bool:
        """Whether it may be callout's voice that comes later than anybody knows yet."""
        if isinstance(event, NotUnderstood):
            return self._gates.cover(event.began, event.ended, LATER)
        said = self._played.said(event.began - LATER, event.ended)
        return any(sounds_like_part(event.text, one) for one in said)

    def _has_front(self, first: int, last: int) -> bool:
        """Whether callout's voice is in what is left of the blocks `first` .. `last`."""
        kept = [one for one in self._kept if first - RUNS_UP <= one[0] <= last]
        silent = np.zeros(BLOCK, np.float32)
        known = np.concatenate([silent, *(one[1] for one in kept)])
        rest = np.concatenate([silent, *(one[2] if one[0] >= first else silent for one in kept)])
        return front(known, rest).sharpness >= SHARP


def too_soon(began: float, ended: float, grammar: int, ear: str) -> NotUnderstood:
    """Somebody spoke, but where not all of it could be heard."""
    return NotUnderstood(TOO_SOON, "", 0.0, grammar, began, ended, ear)
