"""What a session remembers beside its lists: counts, cool-down, run-down.

Rule of this file: values only, as state.py, of which they are a part.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from callout.engine.counters import Tally


@dataclass(frozen=True, slots=True)
class Cooling:
    """The cool-down.

    Fields:
        began: since when it counts (None: it does not)
        marks: seconds remaining still to be said, longest first
        done: it was done, and power was not raised since
        over: fuel is off: there is nothing more to cool down for
        seen: gauges of its bands that were read and are trusted
        outside: those of them that last read outside their band
        raised: power is raised, and that was said
    """

    began: float | None = None
    marks: tuple[float, ...] = ()
    done: bool = False
    over: bool = False
    seen: frozenset[str] = frozenset()
    outside: frozenset[str] = frozenset()
    raised: bool = False


@dataclass(frozen=True, slots=True)
class Stopping:
    """The engine after fuel-off.

    Fields:
        off_at: when that was
        path: the item that said so
        timed: its moment is known (it was ticked, not passed), and standstill is awaited
        lowest: lowest value of the gauge that is watched for a fire, since then
        before: what that gauge measured last
        burning: a fire was called
    """

    off_at: float
    path: str
    timed: bool = True
    lowest: Decimal | None = None
    before: Decimal | None = None
    burning: bool = False


@dataclass(frozen=True, slots=True)
class DueTally:
    """What was counted towards one due item since it was last done.

    Fields:
        due: its key
        tally: counts and seconds of its counter since then
        done: the day on which it was done (0: never, or not known)
        before: the same, before it was last said to be done
    """

    due: str
    tally: Tally
    done: int = 0
    before: int = 0


@dataclass(frozen=True, slots=True)
class Duties:
    """All of it.

    Fields:
        tallies: one a counter, in the file's order
        counted: (counter id, "list/item") counted since its list was opened
        shown: counters whose gauge shows that a turn goes on
        unsure: counters whose gauge showed that, and is read no more: should it come back
            and show the turn over, it is over
        late: counters whose turn lasts longer than it may, and that was said
        in_state, since: the engine state and when it began; time that nobody
            watched is left out of it by moving `since`
        refused: counters that kept a list from being opened, and until when each does
        past: past run-downs as (how standstill was told, seconds), oldest first
        dues: one a due item, in the file's order
        wall: seconds of local time at session second 0, counted from day 0 (0: not known)
    """

    tallies: tuple[Tally, ...] = ()
    counted: frozenset[tuple[str, str]] = frozenset()
    shown: frozenset[str] = frozenset()
    unsure: frozenset[str] = frozenset()
    late: frozenset[str] = frozenset()
    in_state: str = "any"
    since: float = 0.0
    refused: tuple[tuple[str, float], ...] = ()
    cooling: Cooling = Cooling()
    stopping: Stopping | None = None
    past: tuple[tuple[str, float], ...] = ()
    dues: tuple[DueTally, ...] = ()
    wall: float = 0.0
