"""What the watch over a start remembers, as frozen values.

Rule of this file: values and small questions about them; watch.py makes the
next value out of the last.
"""

from __future__ import annotations

import math
from decimal import Decimal
from typing import NamedTuple

from callout.engine import trend

WAITING = -1
"""The phase before the starter is on."""

SILENT_AFTER = 1.0
"""A gauge of a feed that gave nothing for so long (s) is not seen any more."""


class Sense(NamedTuple):
    """What one gauge has shown.

    Fields:
        at: when it last gave a value by the feed (s); -inf for never
        windows: its latest samples, one window for each slope that is wanted
        lowest, highest: since the starter was on, spoken or measured
        blind: since when its sensor is known not to be trusted (s); None: it is
        lost: since when the feed as a whole is not (s); None: it is
        again: of a sensor that jumps, since when its values come without a break (s)
        value, same: its latest number by the feed, and since when that is shown (s)
    """

    at: float = -math.inf
    windows: tuple[trend.Window, ...] = ()
    lowest: Decimal | None = None
    highest: Decimal | None = None
    blind: float | None = None
    lost: float | None = None
    again: float | None = None
    value: Decimal | None = None
    same: float = math.inf

    def unseen_since(self, now: float) -> float | None:
        """Since when the feed does not show it (s); None if it does, or never did."""
        if self.at == -math.inf:
            return None
        wrong = [since for since in (self.blind, self.lost) if since is not None]
        if wrong:
            return min(wrong)
        return self.at if now - self.at > SILENT_AFTER else None

    def seen(self, now: float) -> bool:
        """Whether the feed shows it."""
        return self.at > -math.inf and self.unseen_since(now) is None


class Held(NamedTuple):
    """A sign that has to hold for a while: which, since when it does, and last did (s)."""

    sign: int
    since: float
    seen: float


class Ended(NamedTuple):
    """A phase that is over, and when that was (s)."""

    phase: str
    at: float


class Counted(NamedTuple):
    """Since when the time of a fault counts, that something can end (s); inf: it was ended."""

    fault: str
    since: float


class Watch(NamedTuple):
    """One start.

    Fields:
        opened: when its list was opened (s), so that another opening is another start
        phase: place of the phase that lasts; WAITING before, their number after the last
        began: when the starter went on (s)
        since: when the phase that lasts began (s)
        senses: one for each gauge, in the order of StartWatch.gauges
        held: signs that hold at present and have to for a while
        ticked: items ticked since the list was opened, as "list/item"
        ended: phases that are over
        asked: the phase was asked for aloud because its gauge is not seen
        counted: of faults whose time something can end, what was seen of that
    """

    opened: float
    phase: int = WAITING
    began: float = 0.0
    since: float = 0.0
    senses: tuple[Sense, ...] = ()
    held: tuple[Held, ...] = ()
    ticked: frozenset[str] = frozenset()
    ended: tuple[Ended, ...] = ()
    asked: bool = False
    counted: tuple[Counted, ...] = ()

    def counted_since(self, fault: str) -> float | None:
        """Since when this fault's time counts (s); None: nothing was seen of its end yet."""
        return next((one.since for one in self.counted if one.fault == fault), None)

    def begin_of(self, place: int) -> float:
        """When the phase at this place began (s); it has."""
        return self.ended[place - 1].at if place > 0 else self.began


class Seen(NamedTuple):
    """What one event shows.

    Fields:
        gauge, value: a value, measured or spoken; "" and None for none
        spoken: the pilot said it
        words: a phrase that the pilot said
        ticked: items that were ticked
        too_long: the gauge was above a limit for longer than it may
    """

    gauge: str = ""
    value: Decimal | None = None
    spoken: bool = False
    words: str = ""
    ticked: frozenset[str] = frozenset()
    too_long: bool = False


NOTHING = Seen()
