"""A session, its export and the export taken in, for the tests of import.

Rule of this file: values and plain functions, no test.
"""

from __future__ import annotations

from decimal import Decimal

from logbook_samples import happened, stamp

from callout.engine.events import Reading
from callout.logbook.export import csv_lines, json_lines
from callout.logbook.import_read import read
from callout.logbook.importing import take_in
from callout.logbook.store import Logbook

FORMS = {"jsonl": json_lines, "csv": csv_lines}


def exported(path, form="jsonl"):
    with Logbook.read(path) as logbook:
        return "".join(FORMS[form](logbook, logbook.numbers())).encode()


def taken(source, target):
    with Logbook.open(target) as logbook:
        return take_in(logbook, source, read(source))


def session(logbook, name="Reedlark", when=None, steps=4):
    """A session of an aircraft, begun at `when`; gives its number."""
    when = when or stamp()
    number = logbook.begin(name, "1", "invented.yaml", "abc", when)
    for n, (event, facts) in enumerate(happened()[:steps]):
        logbook.note(number, Reading("volts", Decimal("24.125"), n + 0.25), n + 0.3)
        logbook.append(number, event, facts, stamp(when.now + n + 0.5))
    return number


def lines_of(tmp_path, form="jsonl"):
    with Logbook.open(tmp_path / "one.db") as logbook:
        session(logbook)
    return exported(tmp_path / "one.db", form).splitlines(keepends=True)
