"""What past sessions of an aircraft counted: handed to the engine when a session begins.

Rule of this file: it only reads, and folds the facts with the engine's own
functions. A moment of a past session is so many seconds before now: by the boot
clock where the machine was not restarted since, else by the wall clock, never
after a moment that came later. Sessions made from a recording are nobody's past.

A session that counted in the same way began with what all before it had counted, and
says so in its first event: what it says is taken, and only what came later is read.
"""

from __future__ import annotations

from collections import Counter as Counts
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime

from callout.checklist.content import counting
from callout.checklist.duties import Counter, Due
from callout.checklist.model import Aircraft
from callout.engine import counters, duties_due
from callout.engine.counters import Tally
from callout.engine.duties_state import DueTally
from callout.engine.rundown import FACT as RUN_DOWN
from callout.engine.rundown_compare import LATEST
from callout.logbook.checkpoint import Known, trusted
from callout.logbook.counted import Counted, counted
from callout.logbook.errors import EntryError
from callout.logbook.reading import storable
from callout.logbook.stamp import RECORDING, Since, Stamp, elapsed, set_back
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

    `fingerprint` is that of the aircraft's file, as `session` has it if not given; with ""
    everything is read.
    """
    digest = counting(aircraft) if fingerprint != "" else ""
    known = trusted(logbook, aircraft.name, session, fingerprint, digest)
    since, before = (known.session, known.seq) if known is not None else (0, 0)
    reading = _Reading(aircraft, logbook, now)
    if known is not None:
        reading.begin(known)
    for one in counted(logbook, aircraft.name, before):
        if one.session != session and one.session >= since:
            reading.take(one)
    tallies = tuple(
        (tally.counter, tally.turns, tally.seconds, tally.last)
        for tally in reading.closed()
        if tally.last is not None
    )
    ends = (
        logbook.last_of(number)
        for number in logbook.ended_after(aircraft.name, _utc(now), since)
        if number != session
    )
    back = any(set_back(end, now) for end in ends)
    return Past(tallies, _latest(reading.run_downs), back, tuple(reading.dues()))


def _utc(stamp: Stamp) -> str:
    """The wall time as the logbook has it, to the second."""
    return datetime.fromisoformat(stamp.wall).astimezone(UTC).isoformat()


def others_since(logbook: Logbook, aircraft: Aircraft, session: int, now: Stamp) -> Past | None:
    """How all stands at `now`, this session too, if others came after it; None if none did."""
    query = "SELECT 1 FROM sessions WHERE session > ? AND aircraft = ? AND boot_id <> ? LIMIT 1"
    later = logbook.select(query, session, storable(aircraft.name), RECORDING)
    return past(logbook, aircraft, 0, now) if next(later, None) is not None else None


def _latest(run_downs: list[tuple[str, float]]) -> tuple[tuple[str, float], ...]:
    """The latest of each way, as many as are looked at: what is never read is not carried on."""
    left: Counts[str] = Counts()
    kept = []
    for how, seconds in reversed(run_downs):
        left[how] += 1
        if left[how] <= LATEST:
            kept.append((how, seconds))
    return tuple(reversed(kept))


@dataclass
class _Reading:
    """The tallies on their way through the facts."""

    aircraft: Aircraft
    logbook: Logbook
    now: Stamp
    run_downs: list[tuple[str, float]] = field(default_factory=list)
    _tallies: dict[str, Tally] = field(default_factory=dict)
    _dues: dict[str, DueTally] = field(default_factory=dict)
    _due_of: dict[str, int] = field(default_factory=dict)
    _of: dict[str, int] = field(default_factory=dict)
    _latest: float = float("-inf")

    def __post_init__(self) -> None:
        self._since = Since(self.now)

    def begin(self, known: Known) -> None:
        """With what the session of `known` was told when it began."""
        began = self._at(known.began)
        self.run_downs += known.opened.run_downs
        for name, turns, seconds, last in known.opened.tallies:
            self._tallies[name] = Tally(name, turns, seconds, last=began + last)
            self._of[name] = known.session
        for key, turns, seconds, done in known.opened.dues:
            self._dues[key] = DueTally(key, Tally("", turns, seconds, last=began), done)
            self._due_of[key] = known.session

    def take(self, one: Counted) -> None:
        """One fact."""
        try:
            if one.name == RUN_DOWN:
                self.run_downs.append((one.data["by"], float(one.data["seconds"])))
                return
            counter = _counter(self.aircraft.counters, one.data["counter"])
            at = self._at(one)
            if counter is not None:
                self._fold(counter, one, at)
            for due in self.aircraft.dues:
                self._fold_due(due, counter, one, at)
        except (KeyError, ValueError) as error:
            raise EntryError(
                f"Entry {one.seq} of session {one.session} cannot be counted: "
                f"{one.name!r} lacks {error}. Give another logbook with --logbook FILE.db."
            ) from None

    def _fold(self, counter: Counter, one: Counted, at: float) -> None:
        before = self._tallies.get(counter.id, Tally(counter.id))
        if self._of.get(counter.id, one.session) != one.session:
            before = self._ended(counter, before, one.session)
        self._tallies[counter.id] = counters.fold(counter, before, one.name, at, one.data)
        self._of[counter.id] = one.session

    def _fold_due(self, due: Due, counter: Counter | None, one: Counted, at: float) -> None:
        of_it = counter if counter is not None and counter.id == due.counter else None
        old = self._dues.get(due.id, DueTally(due.id, Tally(due.counter)))
        if of_it is not None and self._due_of.get(due.id, one.session) != one.session:
            old = self._due_ended(due, of_it, old, one.session)
        new = duties_due.fold(due, of_it, old, one.record, at, 0)
        if new is not old:
            self._dues[due.id], self._due_of[due.id] = new, one.session

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

    def _at(self, one: Counted | Stamp) -> float:
        """Seconds before now, as a time: never earlier than a fact that came before."""
        self._latest = max(self._latest, -self._since.seconds(one.wall, one.boot, one.boot_id))
        return self._latest

    def _ended(self, counter: Counter, tally: Tally, after: int = 0) -> Tally:
        return self._closed(counter, tally, self._of[counter.id], after)

    def _closed(self, counter: Counter, tally: Tally, session: int, after: int) -> Tally:
        """A turn that its session left open ended with its last entry, or when `after` began."""
        if tally.began is None:
            return tally
        ended = -elapsed(self.logbook.last_of(session), self.now)
        if after > session:  # the session was killed, and taken up later
            ended = min(ended, -elapsed(self.logbook.session(after).began, self.now))
        return counters.end(counter, tally, max(tally.began, ended))

    def closed(self) -> Iterable[Tally]:
        """Every tally, no turn of it open, in the file's order."""
        for counter in self.aircraft.counters:
            if counter.id in self._tallies:
                tally = self._ended(counter, self._tallies[counter.id])
                yield replace(tally, last=min(0.0, tally.last) if tally.last is not None else None)


def _counter(known: Iterable[Counter], counter_id: str) -> Counter | None:
    return next((one for one in known if counter_id in (one.id, *one.formerly)), None)
