"""What a bench of turns finds: answers and what followed them, as values.

Rule of this file: values only; they are measured elsewhere.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from callout.benches.process import Usage

STEPS = ("capture", "ear waits", "ear computes", "hand-over", "engine", "logbook",
         "clip ready", "handed to device", "device")  # fmt: skip
"""Where the time of a turn goes: to the block that holds the end of the word; to the block with
which the ear decides; its computing; to the thread that owns the session; the decision; the
commit; until the call's clip is there; until the device asks for it; until it sounds.
"""
TONE = 0.1
"""What is shorter (s) is a tone and no call."""
THINKING = (0.5, 1.5)
"""Seconds between a call's end and the pilot's answer."""


@dataclass(frozen=True, slots=True)
class Turn:
    """One answer.

    Fields:
        text: what was said
        kind: "answer" after the call, "value" likewise, "barge-in" into it, "wrong" (refused)
        gap: from the end of the word to the first sample of the next call (s)
        steps: where that time went (s), in order
        stopped: from the word's being accepted to the silence of what was being said (s)
    """

    text: str
    kind: str
    gap: float
    steps: dict[str, float]
    stopped: float | None = None


@dataclass
class Measured:
    """Everything that was found in one run of the bench.

    Fields:
        refused: how often which words were not understood and were said again
        starts: from the program's start to its first sound (s)
        waiting: share of one core while nobody speaks
        ran_out: how often the headset ran out of sound
    """

    turns: list[Turn] = field(default_factory=list)
    refused: Counter[str] = field(default_factory=Counter)
    ran_out: int = 0
    starts: list[float] = field(default_factory=list)
    waiting: list[float] = field(default_factory=list)
    usage: Usage | None = None
