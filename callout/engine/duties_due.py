"""What has to be done again and again: how much of it is left, said at its lists.

Rule of this file: a due item is folded from the very facts of the counter that it
goes by, less what rests and recharges give back; only "done" sets it back. It is
due when nothing is left, and overdue from then on: one more would be beyond what the
owner wrote. Dates are those of the wall clock at the session's opening, carried on
by the session's own seconds; where that is not known, nothing is said of dates.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from callout.checklist.duties import Counter, Due
from callout.checklist.model import Aircraft, CheckList
from callout.engine import counters, wording_due
from callout.engine.counters import NEARLY, Tally
from callout.engine.duties_state import DueTally
from callout.engine.effects import Record
from callout.engine.turn import Turn

NAMED = "due/"
"""What stands before its key where a fact names it as it names a counter."""

FOLLOWED = frozenset({"counted", "count ended", "count goes on", "count taken back"})
"""Facts of its counter that it follows: not rests, nor what a charger gives back."""

WRONG = frozenset({"disregard", "correction"})
"""A tick that is reopened for one of these reasons was never right."""

DAY = 86_400.0


@dataclass(frozen=True, slots=True)
class Left:
    """What is left of one: counts or seconds of its counter, and days; None where it has none."""

    due: Due
    amount: float | None = None
    days: int | None = None

    @property
    def over(self) -> bool:
        """Whether it should have been done before anything more of it."""
        spent = self.amount is not None and self.amount <= NEARLY
        return spent or (self.days is not None and self.days < 0)

    @property
    def soon(self) -> bool:
        """Whether it is time to speak of it."""
        near = self.amount is not None and self.amount <= self.due.warn + NEARLY
        return self.over or near or (self.days is not None and self.days <= self.due.warn_days)


def fold(
    due: Due, counter: Counter | None, old: DueTally, fact: Record, at: float, on: int
) -> DueTally:
    """The due item after a fact: of its counter, or its own; `on` is that day (0: unknown)."""
    data = dict(fact.data)
    if data.get("counter", "") in {NAMED + key for key in (due.id, *due.formerly)}:
        return _own(old, fact.fact, data, at, on)
    if counter is None or fact.fact not in FOLLOWED or "entered" in data:
        return old
    plain = replace(counter, rest=None)
    return replace(old, tally=counters.fold(plain, old.tally, fact.fact, at, data))


def _own(old: DueTally, fact: str, data: Mapping[str, str], at: float, on: int) -> DueTally:
    plain, tally = Counter("", "", ()), old.tally
    if fact == "count set back":
        tally = replace(counters.set_back(plain, tally, at), last=at)
        return DueTally(old.due, tally, done=day_of(data.get("date", "")) or on, before=old.done)
    if fact == "count restored":
        return DueTally(old.due, counters.restore(plain, tally, at), done=old.before)
    if "entered" in data:
        tally = counters.entered(tally, at, data)
        return replace(old, tally=tally, done=day_of(data.get("date", "")) or old.done)
    return old


def day_of(text: str) -> int:
    """The day of a date as written, counted from the first there is; 0 for none."""
    return date.fromisoformat(text).toordinal() if text else 0


def next_date(due: Due, done: int) -> date | None:
    """By when it has to be done, as the calendar has it."""
    if not done:
        return due.on
    last = date.fromordinal(done)
    if due.days:
        return last + timedelta(days=due.days)
    return months_after(last, due.months) if due.months else None


def months_after(day: date, months: int) -> date:
    """The same day so many months later, or the last of that month."""
    month = day.month - 1 + months
    year, month = day.year + month // 12, month % 12 + 1
    following = date(year + month // 12, month % 12 + 1, 1)
    return date(year, month, min(day.day, (following - timedelta(days=1)).day))


def left(due: Due, counter: Counter | None, one: DueTally, now: float, today: int) -> Left:
    """What is left of it now."""
    amount = None
    if counter is not None and due.every:
        used = counters.on(one.tally, now) if counter.ends else one.tally.turns
        amount = due.every - used
    by = next_date(due, one.done) if today else None
    return Left(due, amount, None if by is None else by.toordinal() - today)


def counter_of(aircraft: Aircraft, due: Due) -> Counter | None:
    """The counter that it goes by."""
    return next((one for one in aircraft.counters if one.id == due.counter), None)


def recall(turn: Turn, told: tuple[tuple[str, float, float, int], ...], wall: float) -> None:
    """Begin with what the history told: (key, counts, seconds, day it was last done)."""
    past = {one[0]: one for one in told}
    dues = []
    for due in turn.aircraft.dues:
        _, turns, seconds, done = past.get(due.id, (due.id, 0.0, 0.0, 0))
        dues.append(DueTally(due.id, Tally(due.counter, turns, seconds), done))
    turn.set(duties=replace(turn.state.duties, dues=tuple(dues), wall=wall))


def today(turn: Turn) -> int:
    """The day as a number; 0 where it is not known."""
    wall = turn.state.duties.wall
    return int((wall + turn.now) // DAY) if wall else 0


def follow(turn: Turn, fact: Record) -> None:
    """What one fact means for everything that is due."""
    path, data = fact.about, dict(fact.data)
    for due in turn.aircraft.dues:
        if fact.fact == "ticked" and path in due.done_by:
            _take(turn, due, "count set back", path, by="pilot", how="by voice, in the list")
        wrong = fact.fact == "reopened" and data["why"] in WRONG and data["status"] == "ticked"
        if wrong and path in due.done_by:
            _take(turn, due, "count restored", path)
    if fact.fact in FOLLOWED:
        _fold_all(turn, fact)


def _take(turn: Turn, due: Due, fact: str, path: str, **more: str) -> None:
    day = today(turn)
    if day and fact == "count set back":
        more["date"] = date.fromordinal(day).isoformat()
    turn.record(fact, path, counter=NAMED + due.id, **more)
    written = turn.effects[-1]
    assert isinstance(written, Record)
    _fold_all(turn, written)


def _fold_all(turn: Turn, fact: Record) -> None:
    name, pairs = dict(fact.data).get("counter", ""), []
    for due, one in zip(turn.aircraft.dues, turn.state.duties.dues, strict=True):
        counter = counter_of(turn.aircraft, due)
        of_it = counter if counter is not None and counter.id == name else None
        pairs.append(fold(due, of_it, one, fact, turn.now, today(turn)))
    if tuple(pairs) != turn.state.duties.dues:
        turn.set(duties=replace(turn.state.duties, dues=tuple(pairs)))


def standing(turn: Turn) -> Iterator[Left]:
    """What is left of everything that is due."""
    for due, one in zip(turn.aircraft.dues, turn.state.duties.dues, strict=True):
        yield left(due, counter_of(turn.aircraft, due), one, turn.now, today(turn))


def remind(turn: Turn, checklist: CheckList) -> None:
    """The list is opened: what is due soon, or overdue, is said here."""
    for one in standing(turn):
        if one.soon and checklist.id in one.due.lists:
            text = wording_due.told(turn.aircraft, one)
            turn.record("due said", checklist.id, due=one.due.id, said=text)
            turn.say(text)


def closing(turn: Turn, checklist: CheckList) -> tuple[Left, ...]:
    """What is overdue and keeps this list closed."""
    return tuple(one for one in standing(turn) if one.over and checklist.id in one.due.closes)


def refuse(turn: Turn, checklist: CheckList) -> Iterator[str]:
    """Why the list may not be opened, written down."""
    for one in closing(turn, checklist):
        text = wording_due.told(turn.aircraft, one)
        turn.record("due refused", checklist.id, due=one.due.id, said=text)
        yield text
