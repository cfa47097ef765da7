"""Values and small tools the logbook tests share.

Rule of this file: values and plain functions, no test.
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from callout.engine.effects import Record
from callout.engine.events import Clock, Event, Heard, Reading, SessionOpened
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook

BOOT_ID = "0d3c6a52-5f0e-4d8e-9a35-3f1f6a1d2b11"


def stamp(now: float = 0.0) -> Stamp:
    """A stamp `now` seconds into an invented session."""
    minutes, seconds = divmod(now, 60)
    wall = f"2031-05-04T09:{int(minutes):02d}:{seconds:06.3f}Z"
    return Stamp(now, wall, 1000.0 + now, BOOT_ID)


def begin(logbook: Logbook, file: str = "invented.yaml", fingerprint: str = "abc") -> int:
    """A session of an invented aircraft."""
    return logbook.begin("Invented helicopter", "1", file, fingerprint, stamp())


def happened() -> list[tuple[Event, list[Record]]]:
    """A few events with the facts that follow from them."""
    on = Record("ticked", "before-start/battery", (("answer", "on"), ("who", "pilot")))
    volts = Record("ticked", "before-start/voltage", (("answer", "24.50"),))
    return [
        (SessionOpened(("before-start",)), [Record("list opened", "before-start")]),
        (Heard("battery on", 0.93, 4, 1.25, 2.5, "keys"), [on]),
        (Clock(), []),
        (
            Reading("volts", Decimal("24.50"), 3.75),
            [volts, Record("list complete", "before-start")],
        ),
    ]


def written(path: Path) -> int:
    """A closed logbook at `path` with one session of `happened`; gives its number."""
    with Logbook.open(path) as logbook:
        session = begin(logbook)
        for n, (event, facts) in enumerate(happened()):
            logbook.append(session, event, facts, stamp(n + 0.5))
    return session
