"""What an owner wrote, as plain values: aircraft, gauges, limits, lists, items.

Rule of this file: frozen dataclasses only, no reading, no checking. load.py
makes these and refuses everything that would break an assumption named here.
Numbers are Decimal as written; times are seconds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from enum import Enum
from typing import TYPE_CHECKING

from callout.checklist.duties import CoolDown, Counter, Due, ResidualFire, RunDown
from callout.checklist.limits import OPEN as OPEN
from callout.checklist.limits import Band as Band
from callout.checklist.limits import Limit as Limit
from callout.checklist.limits import Transient as Transient
from callout.checklist.order import OrderRule
from callout.checklist.settings import ResumePolicy as ResumePolicy
from callout.checklist.settings import Settings as Settings
from callout.checklist.settings import Source as Source

if TYPE_CHECKING:
    from callout.checklist.start_watch import StartWatch


class Who(Enum):
    """Who does an item and answers it."""

    PILOT = "pilot"
    HELPER = "helper"


@dataclass(frozen=True, slots=True)
class Feed:
    """How a gauge's readings come in by a feed.

    Fields:
        column: its name in the feed ("" for the gauge's id)
        unit: what the feed gives it in ("" for the gauge's unit)
        rate: fastest change, gauge units per second (None: worked out from the range)
        stuck_after: seconds of one and the same value, while others move, that
            make a sensor stuck (None: its own noise tells)
        silent_after: seconds without a value that make it silent
    """

    column: str = ""
    unit: str = ""
    rate: Decimal | None = None
    stuck_after: float | None = None
    silent_after: float | None = None


@dataclass(frozen=True, slots=True)
class Gauge:
    """One instrument.

    Fields:
        id, call: key in the file and spoken name; `also`: further spoken names
        unit: symbol as written ("V", "%", "degC", "bar", "s" ...)
        unit_words: spoken forms of the unit, the first is the one callout says
        possible: the whole range it can show, both ends given
        decimals: digits read after the point
        limits: in the order written
        feed: how its readings come in
        jitter: how far its readings jump about, in its unit (None: 1/100 of its range)
    """

    id: str
    call: str
    unit: str
    unit_words: tuple[str, ...]
    possible: Band
    decimals: int = 0
    also: tuple[str, ...] = ()
    limits: tuple[Limit, ...] = ()
    feed: Feed = Feed()
    jitter: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Condition:
    """A gauge in a band, held for `seconds` without a break (0: at once)."""

    gauge: str
    band: Band
    seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class Ask:
    """Ask and answer: one of `answers`, word for word, ticks the item.

    Fields:
        answers: what counts, normalised; the first one is printed
        wrong: likely wrong answers, refused by name instead of forced onto a right one
    """

    answers: tuple[str, ...]
    wrong: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadValue:
    """Read a gauge aloud; ticked by a value in `accept` and inside the limits."""

    gauge: str
    accept: Band = OPEN


@dataclass(frozen=True, slots=True)
class Wait:
    """A timed wait; `marks` are the seconds remaining at which it is said aloud."""

    seconds: float
    marks: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Await:
    """Wait for a condition (spoken or measured), `within` seconds if given.

    `missed` names the list that opens when the time is up ("" for none: said,
    and the item stays open). Said in place of a value, `said` answers it too.
    """

    condition: Condition
    within: float | None = None
    missed: str = ""
    said: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Advise:
    """Said, needs no answer; done when it has been said to its end."""


@dataclass(frozen=True, slots=True)
class Option:
    """One way to go: its key and the words that choose it."""

    id: str
    answers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Choose:
    """A choice; items with a matching `only_if` follow, the others do not apply."""

    options: tuple[Option, ...]


@dataclass(frozen=True, slots=True)
class GoTo:
    """Leave this list here and open another one."""

    list_id: str


Task = Ask | ReadValue | Wait | Await | Advise | Choose | GoTo


@dataclass(frozen=True, slots=True)
class OnlyIf:
    """The item applies if the choice item (of this or an earlier list) took the option."""

    choice: str
    option: str


@dataclass(frozen=True, slots=True)
class Item:
    """One line of a list.

    Fields:
        id: unique within its list
        call: what is read aloud, noun first
        task: what has to happen
        who: pilot or helper; where: station of the walk-round ("" for none)
        why: spoken on request
        killer: never passed by one utterance other than its own full answer
        look_time: seconds a person needs to look; a faster answer is queried
        stale_after: seconds after which a tick no longer counts (None: never)
        gate: deferred items of this list come back before this one
        only_if: all must hold, else the item does not apply
    """

    id: str
    call: str
    task: Task
    who: Who = Who.PILOT
    where: str = ""
    why: str = ""
    killer: bool = False
    look_time: float = 0.0
    stale_after: float | None = None
    gate: bool = False
    only_if: tuple[OnlyIf, ...] = ()


@dataclass(frozen=True, slots=True)
class Section:
    """A chunk of a list, announced by its name ("" for the only one)."""

    name: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Need:
    """What must have been done this session before a list opens.

    A whole list (`item` is "") must be complete; an item must be ticked.
    """

    list_id: str
    item: str = ""


class ListKind(Enum):
    """Normal lists run in order; abort lists break in; emergency lists open by name at any time."""

    NORMAL = "normal"
    ABORT = "abort"
    EMERGENCY = "emergency"


@dataclass(frozen=True, slots=True)
class CheckList:
    """One list.

    Fields:
        id, title: key and spoken title; `also`: further spoken titles
        kind: see ListKind
        sections: at least one, none empty
        engine_state: which limits apply while it runs ("any", "start", "running" ...)
        abort: the list that `abort` opens while this one runs ("" for none)
        aborts: further abort lists that can be called by name while it runs
        needs: what must have been done first
    """

    id: str
    title: str
    sections: tuple[Section, ...]
    also: tuple[str, ...] = ()
    kind: ListKind = ListKind.NORMAL
    engine_state: str = "any"
    abort: str = ""
    aborts: tuple[str, ...] = ()
    needs: tuple[Need, ...] = ()

    def items(self) -> Iterator[Item]:
        """All items in order, over the sections."""
        for section in self.sections:
            yield from section.items


@dataclass(frozen=True, slots=True)
class Aircraft:
    """Everything in one file, after inheritance.

    Fields:
        notice: said first of all when not empty
        lists: in flying-day order; abort and emergency lists stand among them
        reactions: name -> seconds in which people must react; practice measures against them
    """

    name: str
    revision: str
    written_by: str
    limits_from: Source
    lists: tuple[CheckList, ...]
    gauges: tuple[Gauge, ...] = ()
    counters: tuple[Counter, ...] = ()
    dues: tuple[Due, ...] = ()
    settings: Settings = field(default_factory=Settings)
    notice: str = ""
    cool_down: CoolDown | None = None
    run_down: RunDown | None = None
    residual_fire: ResidualFire | None = None
    start_watch: StartWatch | None = None
    orders: tuple[OrderRule, ...] = ()
    reactions: tuple[tuple[str, float], ...] = ()

    def gauge(self, gauge_id: str) -> Gauge:
        """The gauge with this id; KeyError if the file has none."""
        for gauge in self.gauges:
            if gauge.id == gauge_id:
                return gauge
        raise KeyError(gauge_id)

    def list(self, list_id: str) -> CheckList:
        """The list with this id; KeyError if the file has none."""
        for checklist in self.lists:
            if checklist.id == list_id:
                return checklist
        raise KeyError(list_id)
