"""A program that writes a logbook until it is killed; run by test_logbook_kill.py.

Rule of this file: what it prints was on the disk before. Event number n carries
n modulo 4 facts, so that a half-written one shows.

    python logbook_writer.py FILE.db
"""

from __future__ import annotations

import os
import sys
import time
from itertools import count
from pathlib import Path

from callout.engine.effects import Record
from callout.engine.events import Heard
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook


def event(n: int) -> Heard:
    """Event number n."""
    return Heard(f"word {n}", 1.0, n, n / 8, n / 8 + 0.1, "keys")


def facts(n: int) -> list[Record]:
    """The facts of event number n."""
    return [
        Record("ticked", f"list/item-{n}-{k}", (("answer", "x" * (n % 500)),)) for k in range(n % 4)
    ]


def main(path: Path) -> None:
    """Go on with the unfinished session, or begin one, and write without end."""
    stamp = Stamp(0.0, "2031-05-04T09:30:00Z", time.monotonic(), "")
    with Logbook.open(path) as logbook:
        row = logbook.unfinished(fingerprint="abc")
        session = row.session if row else logbook.begin("Invented", "1", "f.yaml", "abc", stamp)
        for n in count(len(logbook.events(session))):
            logbook.append(session, event(n), facts(n), stamp)
            os.write(1, f"{n}\n".encode())


if __name__ == "__main__":
    main(Path(sys.argv[1]))
