"""`callout bench logbook`: what it makes is a logbook like any other."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

from click.testing import CliRunner
from report_rig import EXAMPLE

from callout.checklist.load import load
from callout.cli.main import main
from callout.logbook.rows import event_of, fact_of
from callout.logbook.store import Logbook
from callout.reports.session import report
from callout.reports.trends import trends


def test_what_is_measured_was_read_from_a_whole_logbook(tmp_path: Path):
    done = CliRunner().invoke(
        main, ["bench", "logbook", "--sessions", "12", "--folder", str(tmp_path), "--json"]
    )
    told = json.loads(done.stdout)

    assert 0 == done.exit_code, done.output
    with Logbook.read(tmp_path / "many.db") as logbook:
        rows = logbook.sessions()
        entries = [entry for row in rows for entry in logbook.entries(row.session)]
        read = [event_of(one) if one.kind == "event" else fact_of(one) for one in entries]
        page = report(logbook, 12, load(EXAMPLE))
        over_all = trends(logbook, "Reedlark", load(EXAMPLE))
    assert (12, told["entries"], len(entries)) == (len(rows), len(entries), len(read))
    assert ["complete"] * len(page.lists) == [part.outcome for part in page.lists]
    assert {12} == {len(series.values) for series in over_all.series}
    assert round(told["megabytes"], 1) == round((tmp_path / "many.db").stat().st_size / 1e6, 1)


def test_its_indexes_and_guards_are_those_of_every_logbook(tmp_path: Path):
    CliRunner().invoke(main, ["bench", "logbook", "--sessions", "1", "--folder", str(tmp_path)])
    with Logbook.open(tmp_path / "plain.db"):
        pass

    def schema(file: str) -> list[tuple[str, str, str]]:
        with closing(sqlite3.connect(tmp_path / file)) as connection:
            return sorted(connection.execute("SELECT type, name, sql FROM sqlite_schema "
                                             "WHERE sql IS NOT NULL"))  # fmt: skip

    assert schema("plain.db") == schema("many.db")
