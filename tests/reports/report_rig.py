"""A session made by hand, for the tests of reports.

Rule of this file: values and plain functions, no test.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

from callout.checklist.load import load_all
from callout.engine.effects import Record
from callout.engine.events import Clock, Event, Reading, SessionOpened
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook

EXAMPLE = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"
BOOT = "5a0c7d52-0000-4000-8000-000000000001"

Step = tuple[float, Event, Sequence[Record]]


def fact(name: str, about: str = "", **data: str) -> Record:
    return Record(name, about, tuple(data.items()))


def heard(item: str, asked: float, at: float, **data: str) -> list[Step]:
    """An item that was asked and ticked."""
    more = {"who": "pilot", "by": "built-in", "latency": f"{at - asked - 1:.2f}"} | data
    return [
        (asked, Clock(), [fact("asked", item)]),
        (at, Clock(), [fact("ticked", item, **more)]),
    ]


def stamp(now: float, day: int = 4) -> Stamp:
    minutes, seconds = divmod(now, 60)
    wall = (
        f"2031-05-{day:02d}T{9 + int(minutes) // 60:02d}:{int(minutes) % 60:02d}:{seconds:06.3f}Z"
    )
    return Stamp(now, wall, 1000.0 + 86400 * day + now, BOOT)


def write(
    path: Path, steps: Sequence[Step], *, file: Path = EXAMPLE, aircraft: str = "Reedlark",
    day: int = 4, ended: float | None = 900.0,
) -> int:  # fmt: skip
    """A session of these steps; gives its number."""
    key = load_all(file).fingerprint if file.exists() else "gone"
    with Logbook.open(path) as logbook:
        session = logbook.begin(aircraft, "4", str(file), key, stamp(0, day))
        logbook.append(session, SessionOpened(), [fact("session opened")], stamp(0, day))
        for at, event, facts in steps:
            logbook.append(session, event, facts, stamp(at, day))
        if ended is not None:
            logbook.finish(session, "ended", stamp(ended, day))
    return session


def a_day() -> list[Step]:
    """One of everything that a report tells."""
    walk, start = "walk-round", "start"
    return [
        (1.0, Clock(), [fact("list opened", walk, title="walk round")]),
        (2.0, Clock(), [fact("asked", f"{walk}/fuel-lever")]),
        (5.0, Clock(), [fact("wrong answer", f"{walk}/fuel-lever", words="open")]),
        *heard(f"{walk}/fuel-lever", 2.0, 9.5, answer="closed")[1:],
        (10.0, Clock(), [fact("asked", f"{walk}/battery-master")]),
        (12.0, Clock(), [fact("deferred", f"{walk}/battery-master")]),
        (12.0, Clock(), [fact("asked", f"{walk}/static-port")]),
        (20.0, Clock(), [fact("overridden", f"{walk}/static-port", reason="not fitted")]),
        (21.0, Clock(), [fact("asked", f"{walk}/fuel-by-the-dipstick")]),
        (24.0, Clock(), [fact("out of range", f"{walk}/fuel-by-the-dipstick",
                              gauge="fuel-quantity", limit="40", value="31")]),
        *heard(f"{walk}/fuel-by-the-dipstick", 21.0, 30.0, answer="65")[1:],
        (40.0, Clock(), [fact("list not complete", walk, open="battery-master",
                              overridden="static-port")]),
        (50.0, Clock(), [fact("list opened", start, title="start")]),
        (60.0, Clock(), [fact("start began", start)]),
        (63.0, Reading("exhaust-temperature", Decimal("705.5"), 63.0), []),
        (64.0, Reading("exhaust-temperature", Decimal("812.0"), 64.0), [
            fact("limit passed", "start/light-off", gauge="exhaust-temperature", value="812.0",
                 limit="800")]),
        (65.0, Clock(), [fact("warning answered", "", key="exhaust-temperature/NEVER", after="2")]),
        (70.0, Clock(), [fact("counted", "start/starter", counter="start-attempts", count="2",
                              on="14.250")]),
        (80.0, Clock(), [fact("start watched", start, outcome="complete", seconds="20.00",
                              **{"at light-off": "3.10", "at idle": "18.20",
                                 "lowest battery-voltage": "17.4",
                                 "highest exhaust-temperature": "812.0"})]),
        (81.0, Clock(), [fact("list complete", start)]),
    ]  # fmt: skip
