"""`callout bench logbook`: what it makes is a logbook like any other."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from report_rig import EXAMPLE

from callout.checklist.load import load
from callout.cli.main import main
from callout.logbook import trending
from callout.logbook.rows import event_of, fact_of
from callout.logbook.store import Logbook
from callout.logbook.whole import whole
from callout.reports.session import report
from callout.reports.trends import trends

# Reports, a paper and trends are made by programs of their own: minutes on a busy machine.
pytestmark = pytest.mark.timeout(900)


@pytest.fixture(scope="module")
def measured(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """The logbook's folder, and what was printed."""
    folder = tmp_path_factory.mktemp("bench")
    words = ["bench", "logbook", "--sessions", "6", "--folder", str(folder), "--json"]
    done = CliRunner().invoke(main, words)
    assert 0 == done.exit_code, done.output
    return folder, json.loads(done.stdout)


def test_what_is_measured_was_read_from_a_whole_logbook(measured):
    folder, told = measured
    with Logbook.read(folder / "many.db") as logbook:
        rows = logbook.sessions()
        entries = [entry for row in rows for entry in logbook.entries(row.session)]
        read = [event_of(one) if one.kind == "event" else fact_of(one) for one in entries]
        page = report(logbook, whole(logbook, 6), load(EXAMPLE))
        over_all = trends(logbook, "Reedlark", load(EXAMPLE))
    assert (6, told["entries"], len(entries)) == (len(rows), len(entries), len(read))
    assert ["complete"] * len(page.lists) == [part.outcome for part in page.lists]
    assert {6} == {len(series.values) for series in over_all.series}
    assert round(told["megabytes"], 1) == round((folder / "many.db").stat().st_size / 1e6, 1)


def test_comparing_finds_its_facts_by_the_index(measured):
    with Logbook.read(measured[0] / "many.db") as logbook:
        plans = [
            " ".join(
                str(row[3]) for row in logbook.select(f"EXPLAIN QUERY PLAN {query}", "Reedlark")
            )
            for query in (trending.figures_query(logbook), trending.tallies_query(logbook))
        ]

    assert "USING COVERING INDEX trending_figures" in plans[0]
    assert "USING COVERING INDEX trending_tallies" in plans[1]


def test_its_indexes_and_guards_are_those_of_every_logbook(measured, tmp_path: Path):
    with Logbook.open(tmp_path / "plain.db"):
        pass

    def schema(file: Path) -> list[tuple[str, str, str]]:
        with closing(sqlite3.connect(file)) as connection:
            return sorted(connection.execute("SELECT type, name, sql FROM sqlite_schema "
                                             "WHERE sql IS NOT NULL"))  # fmt: skip

    assert schema(tmp_path / "plain.db") == schema(measured[0] / "many.db")
