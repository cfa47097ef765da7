"""A feed as a whole: lines in, events for the engine out.

Rule of this file: what is no value never becomes a Reading. A fault is told when
it is found and when it is over, and not in between. Times are seconds of the session
and come from outside; nothing here reads a clock.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from callout.checklist.model import Feed, Gauge
from callout.engine.events import Event, FeedFault, FeedGood, Reading
from callout.gauges.feed import doubts
from callout.gauges.feed.clock import SendersClock
from callout.gauges.feed.columns import Binding, Bound, bind
from callout.gauges.feed.doubts import Trial
from callout.gauges.feed.parsing import Malformed, Name, NoHead, Parser, Row
from callout.gauges.feed.sensor import Sensor
from callout.gauges.feed.thinning import Thinning

LOOK = 0.25
"""Seconds between two looks at what no single line shows: silence, one number for long."""

FROZEN = 5.0
"""Seconds for which nothing at all moves, from sensors that had noise, that make a feed frozen."""

MOST_NOTES = 64
"""Sentences about columns that are no gauge: those of one head at the most."""

TOO_LONG = "it is longer than 4096 bytes"


class _Column:
    """What one gauge's column goes through."""

    __slots__ = ("bound", "digits", "gauge", "sensor", "thinning", "trial")

    def __init__(self, gauge: Gauge, sensor: Sensor) -> None:
        self.gauge = gauge
        self.sensor = sensor
        self.thinning = Thinning(gauge)
        self.digits = f".{gauge.decimals + 1}f"
        self.bound: Bound | None = None
        self.trial: Trial | None = None


class FeedWatch:
    """Watches one feed of one aircraft.

    Args:
        gauges: of the aircraft
        paced: lines come when they were sent (live); else the sender's time is the session's
        now: session time
    """

    def __init__(self, gauges: Iterable[Gauge], *, paced: bool, now: float = 0.0) -> None:
        self._gauges = tuple(gauges)
        self._paced = paced
        self._parser = Parser()
        self._clock = SendersClock()
        self._columns: dict[str, _Column] = {}
        self._live: tuple[tuple[_Column, int, float, float], ...] = ()
        self._names: tuple[Name, ...] | None = None
        self._doubted: set[str] = set()
        self._accused: set[str] = set()
        self._on_trial = False
        self._look_at = now
        self._now = self._row_at = now
        self._told: set[str] = set()
        self._frozen_at: float | None = None
        #: lines taken, and how many of them were not understood
        self.lines = 0
        self.malformed = 0
        #: about the last line that was not understood
        self.last_wrong = ""
        #: sentences about columns that are no gauge, for people
        self.notes: list[str] = []

    def line(self, number: int, line: bytes | None, came: float) -> list[Event]:
        """What one line gives; `number` counts the lines, None is a line that was too long."""
        row, events = self.read(number, line)
        return events if row is None else self.row(row, came)

    def read(self, number: int, line: bytes | None) -> tuple[Row | None, list[Event]]:
        """The numbers in a line, not taken yet; or what is wrong with it.

        Live, one listens in to a stream that may have begun: its first line may
        be cut, and its head may be still to come.
        """
        self.lines += 1
        try:
            if line is None:
                raise Malformed(TOO_LONG)
            return self._parser.line(line), []
        except Malformed as why:
            self.malformed += 1
            self.last_wrong = f"Line {number} of the feed was not understood: {why}."
            cut = isinstance(why, NoHead) or self.lines == 1
            return None, [] if self._paced and cut else self._not_understood()

    def row(self, row: Row, came: float) -> list[Event]:
        """What one row of numbers gives."""
        at = self._row_at = self._when(row.time, came)
        events: list[Event] = []
        if row.names is not self._names:
            self._bind(row.names, at, events)
        if not self._clock.late:
            self._values(row.values, at, events)
        if at >= self._look_at:
            self.look(at, events)
        return events

    def look(self, at: float, events: list[Event]) -> None:
        """Look at what does not show in a line; called with the time also when none comes."""
        self._look_at = at + LOOK
        self._now = max(self._now, at)
        # A sensor is silent where others are not; that no line comes at all is told elsewhere.
        for column in self._columns.values() if not self._clock.late else ():
            column.sensor.look(self._row_at)
        self._still(at, events)
        for column in self._columns.values():
            if column.sensor.news:
                self._tell(column.sensor, events)
        self._tell_clock(events)

    def _when(self, sent: float | None, came: float) -> float:
        if self._paced:
            self._now = self._clock.when(sent, came)
        elif sent is not None and sent < self._now - 0.05:
            what = f"the sender's clock went back by {self._now - sent:.2f} s"
            self._clock.faults.setdefault("clock", what)
        else:
            self._now = max(self._now, came if sent is None else sent)
        return self._now

    def _bind(self, names: tuple[Name, ...], at: float, events: list[Event]) -> None:
        """Another head: its columns are found again; what is known of a sensor is kept."""
        self._names = names
        binding = bind(names, self._gauges)
        fresh = [note for note in binding.unknown if note not in self.notes]
        self.notes += fresh[: MOST_NOTES - len(self.notes)]
        by_id = {gauge.id: gauge for gauge in self._gauges}
        expected = {gauge.id for gauge in self._gauges if gauge.feed != Feed()}
        for gauge_id in (*(bound.gauge for bound in binding.bound), *sorted(expected)):
            if gauge_id not in self._columns:
                gauge = by_id[gauge_id]
                self._columns[gauge_id] = _Column(gauge, Sensor(gauge, at))
        for bound in binding.bound:
            self._use(bound, at)
        self._on_trial = any(column.trial for column in self._columns.values())
        self._live = tuple(
            (self._columns[b.gauge], b.at, b.into.factor, b.into.shift) for b in binding.bound
        )
        self._refuse(binding, events)

    def _use(self, bound: Bound, at: float) -> None:
        column = self._columns[bound.gauge]
        again = bound.gauge in self._accused - self._doubted and column.trial is None
        if again or column.bound is None or column.bound.unit != bound.unit:
            column.trial = Trial(column.gauge, bound, at)
            self._doubted.discard(column.gauge.id)
        column.bound = bound

    def _refuse(self, binding: Binding, events: list[Event]) -> None:
        for gauge, why in binding.refused:
            if gauge not in self._accused:
                self._accused.add(gauge)
                events.append(FeedFault(gauge, "unit", why))
        if not binding.bound and not binding.refused and "columns" not in self._told:
            self._told.add("columns")
            events.append(
                FeedFault("", "line", f"None of its columns is a gauge: {self.notes[0]}.")
            )

    def _values(self, values: tuple[float | None, ...], at: float, events: list[Event]) -> None:
        if self._on_trial:
            values = self._try(values, at, events)
        for column, place, factor, shift in self._live:
            number = values[place]
            if number is None:
                continue
            sensor = column.sensor
            value = sensor.take(number * factor + shift, at)
            if sensor.news:
                self._tell(sensor, events)
            if value is not None and column.thinning.passes(value, at):
                exact = Decimal(format(value, column.digits))
                events.append(Reading(column.gauge.id, exact, at))

    def _try(
        self, values: tuple[float | None, ...], at: float, events: list[Event]
    ) -> tuple[float | None, ...]:
        """The values without those of columns that are still on trial, or in doubt."""
        passed = list(values)
        ended = False
        for column, place, factor, shift in self._live:
            trial, number = column.trial, values[place]
            if trial is not None and number is not None and number - number == 0.0:
                trial.numbers.append(number * factor + shift)
                ended = ended or trial.over(at)
                passed[place] = None
                column.sensor.seen_at = at
            elif column.gauge.id in self._doubted:
                passed[place] = None
                column.sensor.seen_at = at
        if ended:
            self._judge(at, events)
        return tuple(passed)

    def _judge(self, at: float, events: list[Event]) -> None:
        """The trial is over for those who gave enough."""
        ripe = [c for c in self._columns.values() if c.trial is not None and c.trial.over(at)]
        trials = [c.trial for c in ripe if c.trial is not None]
        found = {t.gauge.id: why for t in trials if (why := doubts.impossible(t))}
        found = {**doubts.disagreeing(trials), **found}
        for column in ripe:
            column.trial = None
            if column.gauge.id in found:
                self._doubted.add(column.gauge.id)
                self._accused.add(column.gauge.id)
                what = f"{column.gauge.call} {found[column.gauge.id]}"
                events.append(FeedFault(column.gauge.id, "unit", what))
            elif column.gauge.id in self._accused:
                self._accused.discard(column.gauge.id)
                events.append(FeedGood(column.gauge.id))
        self._on_trial = bool(self._doubted) or any(c.trial for c in self._columns.values())

    def _still(self, at: float, events: list[Event]) -> None:
        """Sensors that stand still while others move; or a feed of which nothing moves."""
        sensors = [column.sensor for column in self._columns.values()]
        frozen = [one for one in sensors if one.frozen(at)]
        moving = False
        for one in frozen:
            if any(other.moved_since(one.same_since) for other in sensors if other is not one):
                moving = True
                one.call_stuck(at)
        if len(frozen) > 1 and not moving and all(at - s.same_since >= FROZEN for s in frozen):
            self._freeze(frozen, at, events)
        elif self._frozen_at is not None and not frozen:
            self._frozen_at = None
            events.append(FeedGood(""))

    def _freeze(self, frozen: list[Sensor], at: float, events: list[Event]) -> None:
        for sensor in frozen:
            sensor.hold()
        if self._frozen_at is None:
            self._frozen_at = at
            what = f"the same numbers come again and again, {FROZEN:.0f} s"
            events.append(FeedFault("", "frozen", what))

    def _tell(self, sensor: Sensor, events: list[Event]) -> None:
        for kind, what in sensor.news:
            gauge = self._columns[sensor.gauge].gauge
            if kind:
                events.append(FeedFault(gauge.id, kind, f"{gauge.call} {what}"))
            else:
                events.append(FeedGood(gauge.id))
        sensor.news.clear()

    def _tell_clock(self, events: list[Event]) -> None:
        standing = self._clock.faults
        for kind, what in standing.items():
            if kind not in self._told:
                self._told.add(kind)
                events.append(FeedFault("", kind, what))
        over = {"clock", "late"} & self._told - standing.keys()
        if over:
            self._told -= over
            events.append(FeedGood(""))

    def _not_understood(self) -> list[Event]:
        """Told the first time, and counted each time."""
        if "line" in self._told:
            return []
        self._told.add("line")
        return [FeedFault("", "line", self.last_wrong)]
