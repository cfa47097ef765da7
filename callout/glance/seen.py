"""What the session's thread hands to the page: the state, and what is not in it.

Rule of this file: pure values. They are made on the session's thread at each
step and read on others, so they never change.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from callout.engine.effects import Effect, Show
from callout.engine.events import (
    Event,
    FeedFault,
    FeedGood,
    Heard,
    Key,
    Lost,
    NotUnderstood,
    Reading,
    Restored,
)
from callout.engine.state import SessionState


@dataclass(frozen=True, slots=True)
class Value:
    """A gauge's value, and when it was measured or read aloud (session time, s)."""

    value: Decimal
    at: float


@dataclass(frozen=True, slots=True)
class Words:
    """What was last heard: the words, whether they counted, and when."""

    text: str = ""
    understood: bool = True
    at: float = 0.0


@dataclass(frozen=True, slots=True)
class Seen:
    """A session at one moment.

    Fields:
        state: as the engine has it
        now: session time (s)
        values: latest reading of each gauge of a feed
        doubted: gauges whose sensor is not trusted; "" for the whole feed
        lost: parts that do not work
        heard: what was last heard
        said: what callout last had to say
    """

    state: SessionState = field(default_factory=SessionState)
    now: float = 0.0
    values: Mapping[str, Value] = field(default_factory=dict)
    doubted: frozenset[str] = frozenset()
    lost: frozenset[str] = frozenset()
    heard: Words = Words()
    said: str = ""


def after(
    seen: Seen, event: Event, effects: tuple[Effect, ...], state: SessionState, now: float
) -> Seen:
    """The session after a step."""
    said = seen.said
    for effect in effects:
        if isinstance(effect, Show) and effect.who == "callout":
            said = effect.text
    return replace(_with(seen, event, now), state=state, now=now, said=said)


def _with(seen: Seen, event: Event, now: float) -> Seen:
    """What the event itself adds."""
    match event:
        case Reading(gauge, value, at):
            return replace(seen, values={**seen.values, gauge: Value(value, at)})
        case Heard(text):
            return replace(seen, heard=Words(text, True, now))
        case NotUnderstood(guess=guess):
            return replace(seen, heard=Words(guess, False, now))
        case Key(means):
            return replace(seen, heard=Words(f"key {means.value}", True, now))
        case FeedFault(gauge, kind) if kind != "line":
            return replace(seen, doubted=seen.doubted | {gauge})
        case FeedGood(gauge):
            return replace(seen, doubted=seen.doubted - {gauge})
        case Lost(part):
            return replace(seen, lost=seen.lost | {part})
        case Restored(part):
            return replace(seen, lost=seen.lost - {part})
    return seen
