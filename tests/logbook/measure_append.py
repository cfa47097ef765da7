"""What one append costs, and what opening costs as the file grows.

    python tests/logbook/measure_append.py [APPENDS] [FOLDER]

FOLDER is on the disk to be measured (default: here). Each append is an event with
two facts, durable on return. Rule of this file: it prints figures and judges none.
"""

from __future__ import annotations

import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from callout.engine.effects import Record
from callout.engine.events import Heard
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook

EVENT = Heard("battery on", 0.9375, 12, 101.25, 102.5, "built-in")
FACTS = (
    Record("ticked", "before-start/battery", (("answer", "on"), ("who", "pilot"))),
    Record("asked", "before-start/voltage", (("times", "1"),)),
)
STAMP = Stamp(102.5, "2031-05-04T09:30:00.125Z", 1234.5, "0d3c6a52-5f0e-4d8e-9a35-3f1f6a1d2b11")


def timed(step: Callable[[], object]) -> float:
    """Milliseconds that the step takes."""
    began = time.perf_counter()
    step()
    return (time.perf_counter() - began) * 1000


def show(what: str, took: list[float]) -> None:
    """Print the spread of some times (ms)."""
    cuts = statistics.quantiles(took, n=100, method="inclusive")
    print(
        f"{what}: p50 {cuts[49]:.2f} ms, p95 {cuts[94]:.2f} ms, p99 {cuts[98]:.2f} ms, "
        f"longest {max(took):.2f} ms, of {len(took)}"
    )


def main(appends: int, folder: Path) -> None:
    """Measure in a folder of its own, removed afterwards."""
    print(f"SQLite {sqlite3.sqlite_version}, Python {sys.version.split()[0]}")
    with tempfile.TemporaryDirectory(dir=folder) as name:
        path = Path(name) / "logbook.db"
        with Logbook.open(path) as logbook:
            session = logbook.begin("Invented", "1", "f.yaml", "abc", STAMP)
            show(
                "append",
                [
                    timed(lambda: logbook.append(session, EVENT, FACTS, STAMP))
                    for _ in range(appends)
                ],
            )
            print(f"replay of {appends} events: {timed(lambda: logbook.events(session)):.0f} ms")
        size = path.stat().st_size
        print(f"file: {size / 1e6:.1f} MB, {size / appends:.0f} bytes an append")
        show("open and close", [timed(lambda: Logbook.open(path).close()) for _ in range(20)])


if __name__ == "__main__":
    words = sys.argv[1:]
    main(int(words[0]) if words else 5000, Path(words[1]) if len(words) > 1 else Path())
