"""Counts and their seconds, folded from facts; and whether one more is allowed.

Rule of this file: pure arithmetic on one tally at a time; the running session and
the history read from the logbook use the same functions on the same facts. What
burdens counts in doubt, what relieves only when it is sure.

Times are session seconds; what a past session did lies before 0.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from callout.checklist.duties import Counter

#: Fractions of a count given back are sums of seconds: what is nearer to a whole
#: count than this is that count.
NEARLY = 1e-6


@dataclass(frozen=True, slots=True)
class Tally:
    """How a counter stands.

    Fields:
        counter: its id
        turns: counts since it was set back; parts of one once some were given back
        seconds: seconds of the turns that have ended since it was set back
        began: when the turn that goes on began (None: none does)
        last: when it was last counted, or a turn of it ended (None: never)
        ran: the last turn that ended, from and to
        kept: turns and seconds before it was set back
    """

    counter: str
    turns: float = 0.0
    seconds: float = 0.0
    began: float | None = None
    last: float | None = None
    ran: tuple[float, float] | None = None
    kept: tuple[float, float] = (0.0, 0.0)


def rested(counter: Counter, tally: Tally, now: float) -> Tally:
    """Set back if the rest that does so has passed."""
    if counter.rest is None or tally.last is None or tally.began is not None:
        return tally
    if now < tally.last + counter.rest:
        return tally
    return replace(tally, turns=0.0, seconds=0.0)


def count(counter: Counter, tally: Tally, at: float) -> Tally:
    """One more; a turn that nobody ended has ended by now."""
    tally = rested(counter, tally, at)
    if tally.began is not None:
        longest = math.inf if counter.each is None else counter.each
        tally = end(counter, tally, min(at, tally.began + longest))
    began = at if counter.ends else None
    return replace(tally, turns=tally.turns + 1.0, began=began, last=at, ran=None)


def end(counter: Counter, tally: Tally, at: float) -> Tally:
    """The turn has ended."""
    del counter
    if tally.began is None:
        return tally
    lasted = max(0.0, at - tally.began)
    ran = (tally.began, at)
    return replace(tally, seconds=tally.seconds + lasted, began=None, last=at, ran=ran)


def go_on(counter: Counter, tally: Tally, at: float) -> Tally:
    """The turn has not ended after all."""
    del counter, at
    if tally.ran is None or tally.began is not None:
        return tally
    began, ended = tally.ran
    left = max(0.0, tally.seconds - (ended - began))
    return replace(tally, seconds=left, began=began, ran=None)


def take_back(counter: Counter, tally: Tally, at: float) -> Tally:
    """The last one did not happen; the rest before the next still runs from it."""
    del counter, at
    return replace(tally, turns=max(0.0, tally.turns - 1.0), began=None)


def set_back(counter: Counter, tally: Tally, at: float) -> Tally:
    """Counted anew from here."""
    del counter
    began = None if tally.began is None else at
    kept = (tally.turns, tally.seconds)
    return replace(tally, turns=0.0, seconds=0.0, began=began, ran=None, kept=kept)


def restore(counter: Counter, tally: Tally, at: float) -> Tally:
    """It was not set back after all."""
    del counter, at
    turns, seconds = tally.turns + tally.kept[0], tally.seconds + tally.kept[1]
    return replace(tally, turns=turns, seconds=seconds, kept=(0.0, 0.0))


def entered(tally: Tally, at: float, data: Mapping[str, str]) -> Tally:
    """What a person wrote down: so it stands from here, whatever was counted before."""
    turns, seconds = float(data["count"]), float(data.get("on", "0"))
    return replace(tally, turns=turns, seconds=seconds, began=None, last=at, ran=None)


FOLDS: Mapping[str, Callable[[Counter, Tally, float], Tally]] = MappingProxyType(
    {
        "counted": count,
        "count ended": end,
        "count goes on": go_on,
        "count taken back": take_back,
        "count set back": set_back,
        "count restored": restore,
    }
)
"""Fact -> what it does to the tally of the counter that it names."""

GAVE_BACK = "count given back"
"""The fact that names seconds of an engine state that gave counts back."""

FACTS = (*FOLDS, GAVE_BACK)
"""Every fact that a tally is made of."""


def give_back(counter: Counter, tally: Tally, seconds: float) -> Tally:
    """So many seconds of the engine state that gives back; never beyond none at all."""
    if counter.gives_back is None:
        return tally
    return replace(tally, turns=max(0.0, tally.turns - seconds / counter.gives_back.every))


def fold(counter: Counter, tally: Tally, fact: str, at: float, data: Mapping[str, str]) -> Tally:
    """The tally after a fact about its counter."""
    if fact == GAVE_BACK:
        return give_back(counter, tally, float(data["seconds"]))
    if "entered" in data:
        return entered(tally, at, data)
    return FOLDS[fact](counter, tally, at)


def used(tally: Tally) -> int:
    """Counts as they are said: one given back in part is still there."""
    return math.ceil(tally.turns - NEARLY)


def on(tally: Tally, now: float) -> float:
    """Seconds in all, the turn that goes on included."""
    going = 0.0 if tally.began is None else max(0.0, now - tally.began)
    return tally.seconds + going


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why one more is not allowed now.

    Fields:
        what: "most", "total" or "between": the limit that it would break
        until: session time from which it is allowed (None: not by time)
    """

    what: str
    until: float | None = None


def refusal(counter: Counter, tally: Tally, now: float) -> Refusal | None:
    """Whether one more would break a limit: the one that takes longest to pass."""
    tally = rested(counter, tally, now)
    over_rest = None
    if counter.rest is not None and tally.last is not None:
        over_rest = tally.last + counter.rest
    if counter.most is not None and tally.turns + 1.0 > float(counter.most) + NEARLY:
        return Refusal("most", over_rest)
    if counter.total is not None and on(tally, now) >= counter.total - NEARLY:
        return Refusal("total", over_rest)
    if counter.between is None or tally.last is None or tally.began is not None:
        return None
    over = tally.last + counter.between
    return Refusal("between", over) if over > now else None
