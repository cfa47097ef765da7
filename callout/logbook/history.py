"""What past sessions of an aircraft counted: handed to the engine when a session begins.

Rule of this file: it only reads, and folds the facts with the engine's own
functions. A moment of a past session is so many seconds before now: by the boot
clock where the machine was not restarted since, else by the wall clock, never
after a moment that came later. Sessions made from a recording are nobody's past.

A session of the very same aircraft file began with what all before it had counted, and
says so in its first event: what it says is taken, and only what came later is read.
"""

from __future__ import annotations

from collections import Counter as Counts
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from callout.checklist.duties import Counter, Due
from callout.checklist.model import Aircraft
from callout.engine import counters, duties_due
from callout.engine.counters import Tally
from callout.engine.duties_state import DueTally
from callout.engine.rundown import FACT as RUN_DOWN
from callout.engine.rundown_compare import LATEST
from callout.logbook.checkpoint import Known, trusted
from callout.logbook.errors import EntryError
from callout.logbook.rows import Entry, SessionRow, fact_of
from callout.logbook.stamp import RECORDING, Stamp, elapsed, set_back
from callout.logbook.store import Logbook


@dataclass(frozen=True, slots=True)
class Past:
    """As SessionOpened takes it.

    Fields:
        tallies: (counter id, counts, seconds on, when it was last: 0 or before)
        run_downs: (how standstill was told, seconds), oldest first
        clock_set_back: a past session lies in the future of the wall clock
        dues: (key, counts, seconds on, day on which it was last done)
    """

    tallies: tuple[tuple[str, float, float, float], ...] = ()
    run_downs: tuple[tuple[str, float], ...] = ()
    clock_set_back: bool = False
    dues: tuple[tuple[str, float, float, int], ...] = ()


def past(
    logbook: Logbook, aircraft: Aircraft, session: int, now: Stamp, fingerprint: str | None = None
) -> Past:
    """What every session of this aircraft but `session` counted, as it stands at `now`.

    `fingerprint` is that of the aircraft's file, as `session` has it if not given.
    """
    known = trusted(logbook, aircraft.name, session, fingerprint)
    since, before = (known.session, known.seq) if known is not None else (0, 0)
    rows = {
        row.session: row
        for row in logbook.sessions(since)
        if row.aircraft == aircraft.name
        and row.session != session
        and row.began.boot_id != RECORDING
    }
    reading = _Reading(aircraft, rows, now)
    if known is not None:
        reading.begin(known)
    for entry in logbook.counted(aircraft.name, before):
        if entry.session in rows:
            reading.take(entry)
    tallies = tuple(
        (tally.counter, tally.turns, tally.seconds, tally.last)
        for tally in reading.closed()
        if tally.last is not None
    )
    back = any(set_back(_last(row), now) for row in rows.values())
    return Past(tallies, _latest(reading.run_downs), back, tuple(reading.dues()))


def others_since(logbook: Logbook, aircraft: Aircraft, session: int, now: Stamp) -> Past | None:
    """How all stands at `now`, this session too, if others came after it; None if none did."""
    later = (
        row.session != session and row.aircraft == aircraft.name and row.began.boot_id != RECORDING
        for row in logbook.sessions(session)
    )
    return past(logbook, aircraft, 0, now) if any(later) else None


def _latest(run_downs: list[tuple[str, float]]) -> tuple[tuple[str, float], ...]:
    """The latest of each way, as many as are looked at: what is never read is not carried on."""
    left: Counts[str] = Counts()
    kept = []
    for how, seconds in reversed(run_downs):
        left[how] += 1
        if left[how] <= LATEST:
            kept.append((how, seconds))
    return tuple(reversed(kept))


def _last(row: SessionRow) -> Stamp:
    return row.ended or row.last


@dataclass
class _Reading:
    """The tallies on their way through the facts."""

    aircraft: Aircraft
    rows: dict[int, SessionRow]
    now: Stamp
    run_downs: list[tuple[str, float]] = field(default_factory=list)
    _tallies: dict[str, Tally] = field(default_factory=dict)
    _dues: dict[str, DueTally] = field(default_factory=dict)
    _due_of: dict[str, int] = field(default_factory=dict)
    _of: dict[str, int] = field(default_factory=dict)
    _latest: float = float("-inf")

    def begin(self, known: Known) -> None:
        """With what the session of `known` was told when it began."""
        began = self._at(self.rows[known.session].began)
        self.run_downs += known.opened.run_downs
        for name, turns, seconds, last in known.opened.tallies:
            self._tallies[name] = Tally(name, turns, seconds, last=began + last)
            self._of[name] = known.session
        for key, turns, seconds, done in known.opened.dues:
            self._dues[key] = DueTally(key, Tally("", turns, seconds, last=began), done)
            self._due_of[key] = known.session

    def take(self, entry: Entry) -> None:
        """One fact."""
        data = dict(fact_of(entry).data)
        try:
            if entry.name == RUN_DOWN:
                self.run_downs.append((data["by"], float(data["seconds"])))
                return
            counter = _counter(self.aircraft.counters, data["counter"])
            if counter is not None:
                self._fold(counter, entry, data)
            for due in self.aircraft.dues:
                self._fold_due(due, counter, entry)
        except (KeyError, ValueError) as error:
            raise EntryError(
                f"Entry {entry.seq} of session {entry.session} cannot be counted: "
                f"{entry.name!r} lacks {error}. Give another logbook with --logbook FILE.db."
            ) from None

    def _fold(self, counter: Counter, entry: Entry, data: dict[str, str]) -> None:
        before = self._tallies.get(counter.id, Tally(counter.id))
        if self._of.get(counter.id, entry.session) != entry.session:
            before = self._ended(counter, before, entry.session)
        at = self._at(entry.stamp)
        self._tallies[counter.id] = counters.fold(counter, before, entry.name, at, data)
        self._of[counter.id] = entry.session

    def _fold_due(self, due: Due, counter: Counter | None, entry: Entry) -> None:
        of_it = counter if counter is not None and counter.id == due.counter else None
        old = self._dues.get(due.id, DueTally(due.id, Tally(due.counter)))
        if of_it is not None and self._due_of.get(due.id, entry.session) != entry.session:
            old = self._due_ended(due, of_it, old, entry.session)
        new = duties_due.fold(due, of_it, old, fact_of(entry), self._at(entry.stamp), 0)
        if new is not old:
            self._dues[due.id], self._due_of[due.id] = new, entry.session

    def _due_ended(self, due: Due, counter: Counter, old: DueTally, after: int = 0) -> DueTally:
        return replace(old, tally=self._closed(counter, old.tally, self._due_of[due.id], after))

    def dues(self) -> Iterable[tuple[str, float, float, int]]:
        """Every due item that something is known of, no turn of it open."""
        for due in self.aircraft.dues:
            if due.id in self._dues:
                one, counter = self._dues[due.id], _counter(self.aircraft.counters, due.counter)
                if counter is not None:
                    one = self._due_ended(due, counter, one)
                yield due.id, one.tally.turns, one.tally.seconds, one.done

    def _at(self, stamp: Stamp) -> float:
        """Seconds before now, as a time: never earlier than a fact that came before."""
        self._latest = max(self._latest, -elapsed(stamp, self.now))
        return self._latest

    def _ended(self, counter: Counter, tally: Tally, after: int = 0) -> Tally:
        return self._closed(counter, tally, self._of[counter.id], after)

    def _closed(self, counter: Counter, tally: Tally, session: int, after: int) -> Tally:
        """A turn that its session left open ended with its last entry, or when `after` began."""
        if tally.began is None:
            return tally
        ended = -elapsed(_last(self.rows[session]), self.now)
        if after in self.rows and after > session:  # the session was killed, and taken up later
            ended = min(ended, -elapsed(self.rows[after].began, self.now))
        return counters.end(counter, tally, max(tally.began, ended))

    def closed(self) -> Iterable[Tally]:
        """Every tally, no turn of it open, in the file's order."""
        for counter in self.aircraft.counters:
            if counter.id in self._tallies:
                tally = self._ended(counter, self._tallies[counter.id])
                yield replace(tally, last=min(0.0, tally.last) if tally.last is not None else None)


def _counter(known: Iterable[Counter], counter_id: str) -> Counter | None:
    return next((one for one in known if counter_id in (one.id, *one.formerly)), None)
