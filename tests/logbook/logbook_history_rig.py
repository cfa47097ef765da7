"""An aircraft that counts, and moments of its past, for the tests of what is counted.

Rule of this file: values and plain functions, no test.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from callout.checklist.duties import Counter, GivesBack
from callout.checklist.model import Aircraft, Ask, CheckList, Item, ListKind, Section, Source
from callout.engine.effects import Record
from callout.engine.events import Clock
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook

ATTEMPTS = Counter(
    "attempts",
    "start attempts",
    ("start/starter",),
    most=Decimal(3),
    rest=1200.0,
    ends=("start/released",),
    between=60.0,
)
CHARGE = Counter(
    "charge",
    "starts on one charge",
    ("start/starter",),
    most=Decimal(4),
    reset_by=("after/charger",),
    gives_back=GivesBack(900.0, "running"),
)


def _list(name: str, *items: str, state: str = "any") -> CheckList:
    asked = tuple(Item(item, item, Ask(("ready",))) for item in items)
    return CheckList(name, name, (Section("", asked),), engine_state=state)


PLANE = Aircraft(
    name="Invented helicopter",
    revision="1",
    written_by="nobody, invented",
    limits_from=Source("invented"),
    lists=(
        _list("start", "starter", "released", state="start"),
        _list("flight", "door", state="running"),
        _list("after", "charger", "cover"),
        replace(_list("stop", "lever"), kind=ListKind.ABORT),
    ),
    counters=(ATTEMPTS, CHARGE),
)

NINE = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)


def at(minutes: float, now: float = 0.0, boot: str = "first", wall: float | None = None) -> Stamp:
    """A stamp so many minutes after nine; the wall clock may say otherwise."""
    shown = NINE + timedelta(minutes=minutes if wall is None else wall)
    text = shown.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    return Stamp(now, text, 1000.0 + 60.0 * minutes, boot)


def wrote(logbook: Logbook, session: int, stamp: Stamp, fact: str, **data: str) -> None:
    record = Record(fact, "start/starter", tuple(data.items()))
    logbook.append(session, Clock(), [record], stamp)
