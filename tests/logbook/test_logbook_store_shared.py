"""One file, and another tool, program, reader or thread at it: who may read, write and change."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing

import pytest
from logbook_samples import begin, stamp, written

from callout.engine.effects import Record
from callout.engine.events import Clock
from callout.logbook.errors import LockedError, LogbookError
from callout.logbook.store import Logbook


@pytest.fixture
def logbook(tmp_path):
    with Logbook.open(tmp_path / "logbook.db") as opened:
        yield opened


def plain(path):
    """The file as any other SQLite tool sees it."""
    return closing(sqlite3.connect(path, isolation_level=None))


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET data = '{}'",
        "UPDATE entries SET seq = seq + 100",
        "DELETE FROM entries",
        "INSERT OR REPLACE INTO entries SELECT * FROM entries WHERE seq = 2",
        "INSERT INTO entries SELECT * FROM entries WHERE true ON CONFLICT DO UPDATE SET seq = 9",
        "UPDATE sessions SET fingerprint = ''",
        "DELETE FROM sessions",
        "REPLACE INTO sessions SELECT * FROM sessions",
        "UPDATE ends SET how = 'complete'",
        "DELETE FROM ends",
        "REPLACE INTO ends SELECT * FROM ends",
        # A fact of another session's event, of a fact, and of nothing.
        "INSERT INTO entries SELECT NULL, 2, 1, 'fact', 'ticked', '', '{}', 0, '', 0, ''",
        "INSERT INTO entries SELECT NULL, 1, 2, 'fact', 'ticked', '', '{}', 0, '', 0, ''",
        "INSERT INTO entries SELECT NULL, 1, NULL, 'fact', 'ticked', '', '{}', 0, '', 0, ''",
        # What is no JSON, of no kind, of the wrong type.
        "INSERT INTO entries SELECT NULL, 2, NULL, 'event', 'Clock', '', '{', 0, '', 0, ''",
        "INSERT INTO entries SELECT NULL, 2, NULL, 'note', 'Clock', '', '{}', 0, '', 0, ''",
        "INSERT INTO entries SELECT NULL, 2, NULL, 'event', 'Clock', '', '{}', 'x', '', 0, ''",
    ],
)
def test_logbook_store_refuses_other_tools_that_would_change_an_entry(tmp_path, statement):
    path = tmp_path / "logbook.db"
    written(path)
    with Logbook.open(path) as logbook:
        logbook.finish(1, "given up", stamp())
        begin(logbook)
        before = [list(logbook.entries(1)), logbook.sessions()]

    with plain(path) as other, pytest.raises(sqlite3.IntegrityError):
        other.execute(statement)

    with Logbook.open(path) as logbook:
        assert before == [list(logbook.entries(1)), logbook.sessions()]


def test_logbook_store_views_answer_in_any_sqlite_tool(tmp_path):
    path = tmp_path / "logbook.db"
    written(path)

    with plain(path) as other:
        assert [
            ("before-start", "battery", '{"answer":"on","who":"pilot"}', 1.5),
            ("before-start", "voltage", '{"answer":"24.50"}', 3.5),
        ] == other.execute("SELECT list, item, details, now FROM ticks").fetchall()
        assert [("volts", 24.5, "24.50", 3.75)] == other.execute(
            "SELECT gauge, value, written, at FROM readings"
        ).fetchall()
        assert [("before-start", "list opened"), ("before-start", "list complete")] == (
            other.execute("SELECT list, fact FROM lists").fetchall()
        )
        assert [(1, "2031-05-04T09:00:00.000Z", None, 2)] == other.execute(
            "SELECT session, began, ended, ticks FROM ended"
        ).fetchall()


def test_logbook_store_belongs_to_the_thread_that_opened_it(logbook):
    """sqlite3 itself refuses; that is a defect of ours, not a sentence for the person."""
    session, raised = begin(logbook), []

    def elsewhere():
        try:
            logbook.append(session, Clock(), [], stamp())
        except sqlite3.ProgrammingError as error:
            raised.append(error)

    thread = threading.Thread(target=elsewhere)
    thread.start()
    thread.join()

    assert 1 == len(raised)
    assert [] == logbook.events(session)


def test_logbook_store_is_read_while_it_is_written(logbook, tmp_path):
    session = begin(logbook)
    with Logbook.read(tmp_path / "logbook.db") as reader, reader.snapshot():
        assert [] == reader.events(session)
        logbook.append(session, Clock(), [], stamp())
        assert [] == reader.events(session)
    with Logbook.read(tmp_path / "logbook.db") as reader:
        assert [(0.0, Clock())] == reader.events(session)


def test_logbook_store_opened_to_read_cannot_be_written(tmp_path):
    written(tmp_path / "logbook.db")
    with Logbook.read(tmp_path / "logbook.db") as reader, pytest.raises(LogbookError) as refused:
        reader.append(1, Clock(), [], stamp())

    assert "cannot be written" in str(refused.value)


def test_logbook_store_waits_for_another_program_then_says_so_and_goes_on(logbook, tmp_path):
    session = begin(logbook)
    with plain(tmp_path / "logbook.db") as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LockedError, match="locked by another program that is writing"):
            logbook.append(session, Clock(), [Record("ticked")], stamp())
        other.execute("ROLLBACK")
    logbook.append(session, Clock(), [], stamp(1))

    assert [(1.0, Clock())] == logbook.events(session)
    assert [] == logbook.facts(session)
