"""The page about the logbook's tables says what a logbook has, in SQLite and PostgreSQL."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing

from describe_schema import PAGE, TABLES, WHEN, page

from callout.logbook import tables
from callout.logbook.store import Logbook


def test_the_page_is_as_the_tables_are():
    assert page() == PAGE.read_text(encoding="utf-8"), "stale: run `make schema`"


def test_every_example_of_the_page_runs(tmp_path):
    Logbook.open(tmp_path / "log.db").close()
    (block,) = re.findall(r"```sql\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    with closing(sqlite3.connect(tmp_path / "log.db")) as base:
        assert 3 == sum(base.execute(line) is not None for line in block.splitlines())


def test_what_goes_through_all_tables_has_every_column(tmp_path):
    Logbook.open(tmp_path / "log.db").close()
    with closing(sqlite3.connect(tmp_path / "log.db")) as base:
        for table in (*tables.TABLES.values(), tables.ORIGINS):
            found = [row[1] for row in base.execute(f"PRAGMA table_info({table.name})")]
            assert list(table.all) == found


def test_a_server_has_the_same_tables_and_views(postgres, database):
    Logbook.open(database).close()
    name = database.url.split("/")[3].partition("?")[0]
    found = postgres.sql(
        name,
        "SELECT table_name || ' ' || string_agg(column_name, ', ' ORDER BY ordinal_position) "
        "FROM information_schema.columns WHERE table_schema = 'public' GROUP BY table_name",
    ).splitlines()
    text = page()
    for line in found:
        table, _, columns = line.partition(" ")
        if table in TABLES:
            own = [column for column in columns.split(", ") if column not in WHEN]
            assert own == list(TABLES[table][1])
        else:
            assert f"| {table} | {columns} |" in text
    assert len(TABLES) + 5 == len(found)
