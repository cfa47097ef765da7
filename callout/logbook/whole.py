"""One session as it is looked back on: its facts, and what each gauge showed, read once.

Rule of this file: it only reads, and each row once. An hour of a feed is some hundred
thousand readings, so they stay columns of numbers here and never become events: that
takes ten times as long. What is to be replayed is read by `Readable.events`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from math import isfinite

from callout.engine.effects import Record
from callout.engine.events import Reading
from callout.logbook import samples
from callout.logbook.reading import Readable
from callout.logbook.rows import SessionRow, event_of, fact_of


@dataclass(slots=True)
class Showed:
    """What one gauge showed, oldest first; values that are none are left out.

    Fields:
        times: session seconds of the samples
        values: in the gauge's unit; texts: the same, to the last digit
    """

    times: list[float] = field(default_factory=list)
    values: list[float] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)

    def add(self, at: float, text: str) -> None:
        """One reading; not finite: none."""
        value = float(text)
        if isfinite(value):
            self.times.append(at)
            self.values.append(value)
            self.texts.append(text)

    def in_order(self) -> None:
        """Sort by time; those of one moment stay as they came."""
        order = sorted(range(len(self.times)), key=self.times.__getitem__)
        if order != list(range(len(order))):
            self.times = [self.times[at] for at in order]
            self.values = [self.values[at] for at in order]
            self.texts = [self.texts[at] for at in order]

    def exact(self, at: int) -> Decimal:
        """One value as it was noted."""
        return Decimal(self.texts[at])


@dataclass(frozen=True, slots=True)
class Whole:
    """One session.

    Fields:
        row: its head and end
        facts: (session seconds, fact), oldest first
        showed: gauge -> what it showed
        readings: how many readings there are, those that are no values among them
    """

    row: SessionRow
    facts: Sequence[tuple[float, Record]]
    showed: dict[str, Showed]
    readings: int


def whole(logbook: Readable, session: int) -> Whole:
    """Read a session.  Raises LogbookError for one that is not there, or cannot be read."""
    facts: list[tuple[float, Record]] = []
    showed: dict[str, Showed] = {}
    count = 0
    for entry in logbook.entries(session):
        if entry.kind == "fact":
            facts.append((entry.stamp.now, fact_of(entry)))
        elif entry.name == "Reading":
            event = event_of(entry)
            assert isinstance(event, Reading)
            showed.setdefault(event.gauge, Showed()).add(event.at, str(event.value))
            count += 1
    for data in logbook.packed(session):
        for gauge, text, at in samples.columns(data):
            column = showed.get(gauge)
            if column is None:
                column = showed.setdefault(gauge, Showed())
            column.add(at, text)
            count += 1
    for column in showed.values():
        column.in_order()
    return Whole(logbook.session(session), facts, showed, count)
