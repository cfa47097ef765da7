"""Counters and due items of an aircraft as they stand, and what a person writes down about them.

Rule of this file: what is written is a session of its own in the logbook, with no list in
it: facts with who and how, so that it is exported, kept and read back like all others.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from callout.checklist.duties import Counter, Due
from callout.checklist.fields import amount
from callout.checklist.load import Loaded
from callout.checklist.model import Aircraft
from callout.checklist.problems import did_you_mean
from callout.engine import counters, duties_due, wording_due
from callout.engine.counters import Tally
from callout.engine.duties_due import NAMED
from callout.engine.duties_state import DueTally
from callout.engine.effects import Record
from callout.engine.events import Stopped
from callout.logbook.history import Past, past
from callout.logbook.store import Logbook
from callout.running.clock import RealClock
from callout.running.opened import wall_clock
from callout.running.problems import CannotRunError

HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class Who:
    """Who writes it down, how he knows or how it was done, and the day that it is about."""

    who: str
    how: str
    on: date | None = None

    def data(self) -> tuple[tuple[str, str], ...]:
        """As a fact has it."""
        return (("by", self.who), ("how", self.how))


def standing(aircraft: Aircraft, logbook: Logbook) -> tuple[list[str], list[str]]:
    """Lines for counters and for due items, as they stand now."""
    clock = RealClock()
    now = clock.stamp(clock.now())
    found = past(logbook, aircraft, 0, now)
    today = int((wall_clock(now) + now.now) // duties_due.DAY)
    lines = [_counter(one, _tally(found, one)) for one in aircraft.counters]
    return lines, list(_dues(aircraft, found, today))


def _tally(found: Past, counter: Counter) -> Tally:
    told = {one[0]: one for one in found.tallies}
    _, turns, seconds, last = told.get(counter.id, (counter.id, 0.0, 0.0, None))
    return counters.rested(counter, Tally(counter.id, turns, seconds, last=last), 0.0)


def _counter(counter: Counter, tally: Tally) -> str:
    text = f"{counter.call}: {counters.used(tally)}"
    if counter.most is not None:
        text += f" of {counter.most}"
    if counter.ends:
        text += f", {tally.seconds / HOUR:.1f} h"
    return f"{text}  ({counter.id})"


def _dues(aircraft: Aircraft, found: Past, today: int) -> Iterator[str]:
    told = {one[0]: one for one in found.dues}
    for due in aircraft.dues:
        _, turns, seconds, done = told.get(due.id, (due.id, 0.0, 0.0, 0))
        counter = duties_due.counter_of(aircraft, due)
        one = DueTally(due.id, Tally(due.counter, turns, seconds), done)
        left = duties_due.left(due, counter, one, 0.0, today)
        mark = "OVERDUE  " if left.over else "soon     " if left.soon else ""
        yield f"{mark}{wording_due.written(aircraft, left, done)}  ({due.id})"


@dataclass(frozen=True, slots=True)
class Entry:
    """What is to be entered, and that it can be: see `entry`."""

    name: str
    call: str
    given: str
    value: float
    counter: Counter


def named(aircraft: Aircraft, key: str) -> Due:
    """The due item of this key.  Raises CannotRunError."""
    found = next((one for one in aircraft.dues if one.id == key), None)
    if found is None:
        names = [*(one.id for one in aircraft.dues), *(one.id for one in aircraft.counters)]
        there = f" There are: {', '.join(names)}." if names else ' Write it under "due" first.'
        hint = did_you_mean(key, names)
        end = "" if hint.endswith("?") else "."
        raise CannotRunError(f"There is no due item {key!r} in this file{hint}{end}{there}")
    return found


def entry(aircraft: Aircraft, key: str, given: str) -> Entry:
    """How a counter stands, or how much of a due item is used.  Raises CannotRunError."""
    counter = next((one for one in aircraft.counters if one.id == key), None)
    if counter is not None:
        return Entry(key, counter.call, given, float(_amount(given, key, counter)), counter)
    due = named(aircraft, key)
    by = duties_due.counter_of(aircraft, due)
    if by is None:
        raise CannotRunError(f"{key!r} goes by the calendar alone: use `callout due done --date`.")
    return Entry(NAMED + due.id, due.call, given, float(_amount(given, key, by)), by)


def done(loaded: Loaded, logbook: Logbook, due: Due, who: Who) -> str:
    """Write down that a due item was done; what is shown for it."""
    day = who.on or date.fromordinal(_today())
    data = (("counter", NAMED + due.id), *who.data(), ("date", day.isoformat()))
    _write(loaded, logbook, Record("count set back", "", data))
    return f"{due.call}: done on {day.isoformat()}, by {who.who}, {who.how}."


def enter(loaded: Loaded, logbook: Logbook, one: Entry, who: Who) -> str:
    """Write an entry down; what is shown for it."""
    by, now = one.counter, RealClock().stamp(0.0)
    own = one.name == by.id  # of the counter itself, whose count of turns stays
    turns = _tally(past(logbook, loaded.aircraft, 0, now), by).turns if own else 0.0
    seconds = one.value if by.ends else 0.0
    count = turns if by.ends else one.value
    data = (("counter", one.name), ("count", f"{count:.6g}"), ("on", f"{seconds:.3f}"),
            ("entered", one.given), *who.data())  # fmt: skip
    if who.on is not None:
        data = (*data, ("date", who.on.isoformat()))
    _write(loaded, logbook, Record("counted", "", data))
    return f"{one.call}: {one.given}, by {who.who}, {who.how}."


def _amount(given: str, key: str, counter: Counter) -> Decimal | float:
    """A count for a counter of turns, hours for one of seconds; 0 as well."""
    wanted = 'hours, such as "812 h"' if counter.ends else "a count, such as 300"
    if given.strip() in ("0", "0 h", "0h"):
        return 0.0
    try:
        value = amount(given)
    except ValueError as problem:
        raise CannotRunError(f"{key}: {problem}.") from None
    if bool(counter.ends) is isinstance(value, Decimal):
        raise CannotRunError(f"{key} does not go by {given!r}; expected {wanted}.")
    return value


def _today() -> int:
    now = RealClock().stamp(0.0)
    return int(wall_clock(now) // duties_due.DAY)


def _write(loaded: Loaded, logbook: Logbook, fact: Record) -> None:
    stamp, made = RealClock().stamp(0.0), loaded.aircraft
    file = str(loaded.files[0].absolute())
    number = logbook.begin(made.name, made.revision, file, loaded.fingerprint, stamp)
    logbook.append(number, Stopped("written by command"), [fact], stamp)
    logbook.finish(number, "by command", stamp)
