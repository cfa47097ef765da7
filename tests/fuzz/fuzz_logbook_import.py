"""Target: an export of any bytes is taken into a logbook whole, or refused and nothing is kept.

Rule of this file: `one` takes bytes and raises only for what is wrong in callout.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from callout.logbook.errors import LogbookError
from callout.logbook.export import json_lines
from callout.logbook.import_read import read
from callout.logbook.importing import take_in
from callout.logbook.lines import row_of
from callout.logbook.store import Logbook

MOST = 9000
FOLDER = Path(tempfile.mkdtemp(prefix="callout-"))
EMPTY = FOLDER / "empty.db"
"""Made once: to make the tables costs more than all the rest."""


def one(data: bytes) -> None:
    """Take it in; what was taken comes out as something that is known to be there already."""
    file = FOLDER / "export"
    file.write_bytes(data)
    if not _lines_fit(file):
        return
    with Logbook.open(_fresh("first.db")) as logbook:
        try:
            done = take_in(logbook, file, read(file))
        except LogbookError as why:
            assert "\n" not in str(why), why
            assert 0 == logbook.how_many()
            return
        out = "".join(json_lines(logbook, sorted(done.new.values())))
        again = FOLDER / "again.jsonl"
        again.write_text(out, encoding="utf-8")
        known = take_in(logbook, again, read(again))
        assert not known.new and not known.continued, known
    with Logbook.open(_fresh("second.db")) as logbook:
        take_in(logbook, again, read(again))
        assert out == "".join(json_lines(logbook, sorted(done.new.values())))


def _fresh(name: str) -> Path:
    if not EMPTY.exists():
        with Logbook.open(EMPTY):
            pass
    return Path(shutil.copy(EMPTY, FOLDER / name))


def _lines_fit(file: Path) -> bool:
    """Whether a logbook has to be opened for it: each line stands for a row."""
    try:
        for _, line in read(file):
            row_of(line)
    except (LogbookError, ValueError, ArithmeticError):
        return False  # what `take_in` makes sentences of
    return True
