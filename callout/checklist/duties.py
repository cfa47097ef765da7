"""What an owner wrote about counting, cooling down and running down, as plain values.

Rule of this file: as model.py, whose parts these are: frozen dataclasses only.
Items are named "list/item"; times are seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from callout.checklist.model import Condition


@dataclass(frozen=True, slots=True)
class GivesBack:
    """So many seconds of an engine state give one count back (a battery that is charged)."""

    every: float
    state: str


@dataclass(frozen=True, slots=True)
class Counter:
    """Something counted across sessions, with the limits that hold for it.

    Fields:
        id, call: key and spoken name
        counts: items ("list/item") whose tick counts one
        most: greatest count before a rest or a recharge is due
        rest: seconds without it that set it back (None: not by rest)
        reset_by: items whose tick sets it back
        ends: items whose tick ends it, where the seconds from one to the other count
        between: seconds of rest after each
        each: seconds that it may last at a time
        total: seconds in all before it has to be set back
        gives_back: what gives counts back one by one
        shown: what a gauge shows while it goes on, where one does: it knows better
            than a tick when it began and ended
        formerly: keys that it had before, under which the logbook has its past
    """

    id: str
    call: str
    counts: tuple[str, ...]
    most: Decimal | None = None
    rest: float | None = None
    reset_by: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()
    between: float | None = None
    each: float | None = None
    total: float | None = None
    gives_back: GivesBack | None = None
    shown: Condition | None = None
    formerly: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Due:
    """Something that has to be done again and again, or by a date.

    Fields:
        id, call: key and spoken name
        lists: lists at whose opening it is said
        counter: what it goes by ("" for the calendar alone)
        every: so many of that counter, or so many seconds of it, from one time to the next
        warn: it is said from so much before
        on: by this date, until it is done for the first time
        months, days: and so long after it was done, again
        warn_days: it is said from so many days before
        closes: lists that do not open while it is overdue, but by override
        done_by: items ("list/item") whose tick says that it was done
        formerly: keys that it had before
    """

    id: str
    call: str
    lists: tuple[str, ...]
    counter: str = ""
    every: float = 0.0
    warn: float = 0.0
    on: date | None = None
    months: int = 0
    days: int = 0
    warn_days: int = 0
    closes: tuple[str, ...] = ()
    done_by: tuple[str, ...] = ()
    formerly: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CoolDown:
    """The cool-down before fuel-off.

    Fields:
        wait: the timed wait ("list/item") that gives its length and marks
        blocks: items that may not be ticked before it is done
        starts: items whose tick starts it; without any, and without readings, the wait does
        idle: bands that must all hold, where they are measured: it counts from the
            last reading outside any of them
        raised: words that say that power was raised
        lists: lists in which readings may start it
    """

    wait: str
    blocks: tuple[str, ...]
    starts: tuple[str, ...] = ()
    idle: tuple[Condition, ...] = ()
    raised: tuple[str, ...] = ()
    lists: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RunDown:
    """The time from fuel-off to standstill, compared with the machine's own.

    Fields:
        starts: items whose tick is fuel-off
        standstill: what a gauge shows then (None: no gauge shows it)
        ends: items whose tick says standstill
        said: words that say standstill at any time
        shorter_by: percent below the median of past ones that are said
        sessions: least number of past ones to compare with
    """

    starts: tuple[str, ...]
    standstill: Condition | None = None
    ends: tuple[str, ...] = ()
    said: tuple[str, ...] = ()
    shorter_by: Decimal = Decimal(20)
    sessions: int = 5


@dataclass(frozen=True, slots=True)
class ResidualFire:
    """The watch for a fire that goes on after fuel-off.

    Fields:
        starts: items whose tick is fuel-off
        gauge: what is watched
        opens: the emergency list that opens
        above: a value above it shows a fire, from `settled_after` seconds after fuel-off on
        rises_by: so does one that is so much above the lowest since fuel-off
        settled_after: seconds in which the value may still be high
        within: seconds for which it is watched
    """

    starts: tuple[str, ...]
    gauge: str
    opens: str
    above: Decimal | None = None
    rises_by: Decimal | None = None
    settled_after: float = 0.0
    within: float = 1800.0
