"""A program that notes readings until it is killed; run by test_logbook_samples.py.

Rule of this file: what it prints was on the disk before: the number of the last
reading that was written.

    python samples_writer.py FILE.db
"""

from __future__ import annotations

import os
import sys
import time
from decimal import Decimal
from itertools import count
from pathlib import Path

from callout.engine.effects import Record
from callout.engine.events import Reading
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook


def main(path: Path) -> None:
    """Go on counting where the file stops: nine are noted, the tenth settles or is an entry."""
    stamp = Stamp(0.0, "2031-05-04T09:30:00Z", time.monotonic(), "")
    with Logbook.open(path) as logbook:
        row = logbook.unfinished(fingerprint="abc")
        session = row.session if row else logbook.begin("Invented", "1", "f.yaml", "abc", stamp)
        for n in count(len(logbook.events(session))):
            reading = Reading("heat", Decimal(n), float(n))
            if n % 20 == 19:
                logbook.append(session, reading, [Record("limit passed")], stamp)
            else:
                logbook.note(session, reading, float(n))
                if n % 20 != 9:
                    continue
                logbook.settle(stamp)
            os.write(1, f"{n}\n".encode())


if __name__ == "__main__":
    main(Path(sys.argv[1]))
