"""Target: an aircraft file of any bytes is loaded, or refused with every problem in its place.

Rule of this file: `one` takes bytes and raises only for what is wrong in callout.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from callout.checklist.load import load_all
from callout.checklist.problems import FileProblems
from callout.checklist.review import review
from callout.writing.changes import changes
from callout.writing.preview import sentences

MOST = 20_000
"""Bytes of one input: what is larger is looked at in tests/checklist/test_checklist_hostile.py."""

FOLDER = tempfile.TemporaryDirectory(prefix="callout-")
FILE = Path(FOLDER.name) / "aircraft.yaml"


def one(data: bytes) -> None:
    """Load it; what is loaded can be read aloud, reviewed, and does not differ from itself."""
    FILE.write_bytes(data)
    try:
        loaded = load_all(FILE)
    except FileProblems as found:
        told(found)
        return
    aircraft = loaded.aircraft
    assert all(said.text.isprintable() for said in sentences(aircraft, aircraft.lists))
    assert () == changes(aircraft, aircraft)
    review(FILE)


def told(found: FileProblems) -> None:
    """Every problem is one sentence with its place."""
    assert found.problems
    for problem in found.problems:
        assert problem.line >= 1 and problem.column >= 1, problem
        assert problem.message.isprintable() and len(problem.message) < 1000, problem
