"""Sessions, events and facts in a real file, by way of the store and of plain SQLite."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from logbook_samples import begin, happened, stamp, written
from test_logbook_codec import ANY_EVENT, ANY_RECORD

from callout.engine.effects import Record
from callout.engine.events import Clock, Lost, Reading
from callout.logbook.errors import (
    DiskFullError,
    EntryError,
    LockedError,
    LogbookError,
    NoSuchSessionError,
)
from callout.logbook.store import Logbook


@pytest.fixture
def logbook(tmp_path):
    with Logbook.open(tmp_path / "logbook.db") as opened:
        yield opened


def plain(path):
    """The file as any other SQLite tool sees it."""
    return closing(sqlite3.connect(path, isolation_level=None))


def test_logbook_store_gives_events_and_facts_back_in_order_with_their_times(tmp_path):
    session = written(tmp_path / "logbook.db")
    facts = [fact for _, facts in happened() for fact in facts]

    with Logbook.read(tmp_path / "logbook.db") as logbook:
        assert [(n + 0.5, event) for n, (event, _) in enumerate(happened())] == logbook.events(
            session
        )
        assert facts == [fact for _, fact in logbook.facts(session)]
        assert [0.5, 1.5, 3.5, 3.5] == [now for now, _ in logbook.facts(session)]


@settings(max_examples=30, deadline=None)  # it writes to a disk
@given(st.lists(st.tuples(ANY_EVENT, st.lists(ANY_RECORD, max_size=3)), max_size=8))
def test_logbook_store_replays_any_session_in_its_order(tmp_path_factory, steps):
    with Logbook.open(tmp_path_factory.mktemp("any") / "logbook.db") as logbook:
        session, other = begin(logbook), begin(logbook)
        for n, (event, facts) in enumerate(steps):
            logbook.append(session, event, facts, stamp(n))
            logbook.append(other, Clock(), [], stamp(n))

        assert repr([(float(n), event) for n, (event, _) in enumerate(steps)]) == repr(
            logbook.events(session)
        )
        assert [fact for _, facts in steps for fact in facts] == [
            fact for _, fact in logbook.facts(session)
        ]


def test_logbook_store_facts_refer_to_their_event(logbook):
    session = begin(logbook)
    for event, facts in happened():
        logbook.append(session, event, facts, stamp())

    entries = list(logbook.entries(session))
    assert [None, 1, None, 3, None, None, 6, 6] == [entry.event for entry in entries]
    assert list(range(1, 9)) == [entry.seq for entry in entries]


def test_logbook_store_is_in_write_ahead_mode_and_fully_synchronous(logbook, tmp_path):
    """synchronous 2 is FULL: "the database will not be corrupted by ... power failure" and
    in WAL mode each commit is synced (sqlite.org/pragma.html#pragma_synchronous)."""
    begin(logbook)

    assert (tmp_path / "logbook.db-wal").stat().st_size > 0
    pragmas = {
        name: logbook._connection.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("journal_mode", "synchronous", "foreign_keys", "fullfsync")
    }
    assert {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "fullfsync": 1} == pragmas


def test_logbook_store_makes_the_folders_it_lies_in(tmp_path):
    path = tmp_path / "hangar" / "what? #1 100%" / "logbook.db"
    written(path)

    assert {"logbook.db", "logbook.db.lock"} == {file.name for file in path.parent.iterdir()}


def test_logbook_store_tells_the_last_session_that_has_no_end(logbook):
    first, second = begin(logbook, "a.yaml", "aaa"), begin(logbook, "b.yaml", "bbb")
    third = begin(logbook, "a.yaml", "new")

    assert third == logbook.unfinished().session
    assert first == logbook.unfinished("aaa").session
    assert third == logbook.unfinished(file="a.yaml").session
    assert logbook.unfinished("aaa", "b.yaml") is None
    logbook.finish(third, "complete", stamp(9))
    assert second == logbook.unfinished().session
    assert first == logbook.unfinished(file="a.yaml").session
    logbook.finish(first, "given up", stamp(9))
    assert logbook.unfinished(file="a.yaml") is None


def test_logbook_store_session_row_tells_when_the_last_entry_was_written(logbook):
    """Resuming counts the missed time from there."""
    session = begin(logbook)
    assert stamp() == logbook.session(session).last
    for n, (event, facts) in enumerate(happened()):
        logbook.append(session, event, facts, replace(stamp(n), boot_id="other"))
    logbook.finish(session, "complete", stamp(60))

    (row,) = logbook.sessions()
    assert replace(stamp(3), boot_id="other") == row.last
    assert (stamp(), stamp(60), "complete", 2) == (row.began, row.ended, row.how, row.ticks)
    assert ("Invented helicopter", "1", "invented.yaml", "abc") == (
        row.aircraft,
        row.revision,
        row.file,
        row.fingerprint,
    )


def test_logbook_store_writes_nothing_more_to_a_session_that_has_ended(logbook):
    session = begin(logbook)
    logbook.finish(session, "complete", stamp())

    with pytest.raises(LogbookError, match="this session has ended"):
        logbook.append(session, Clock(), [], stamp())
    with pytest.raises(LogbookError, match="append only"):
        logbook.finish(session, "again", stamp())
    assert [] == logbook.events(session)


def test_logbook_store_names_a_session_that_it_does_not_hold(logbook):
    for ask in (
        lambda: logbook.append(7, Clock(), [], stamp()),
        lambda: logbook.finish(7, "complete", stamp()),
        lambda: logbook.events(7),
        lambda: logbook.session(7),
    ):
        with pytest.raises(NoSuchSessionError, match="holds no session 7"):
            ask()


def test_logbook_store_writes_an_event_with_all_its_facts_or_not_at_all(logbook):
    """The second fact cannot be written: the event and the first are not there either."""
    session = begin(logbook)
    facts = [Record("ticked", "start/battery"), Record("ticked", "start/pump", (("n", 1),))]

    with pytest.raises(EntryError, match=r"Record\.data\[0\]\[1\] must be text, not 1"):
        logbook.append(session, Clock(), facts, stamp())
    assert [] == list(logbook.entries(session))
    logbook.append(session, Clock(), facts[:1], stamp())
    assert 2 == len(list(logbook.entries(session)))


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


def test_logbook_store_full_disk_is_a_sentence_and_nothing_is_half_written(logbook):
    """SQLite refuses a page more with SQLITE_FULL, the code of a full disk too."""
    session = begin(logbook)
    logbook.append(session, Clock(), [], stamp())
    (pages,) = logbook._connection.execute("PRAGMA page_count").fetchone()
    logbook._connection.execute(f"PRAGMA max_page_count = {pages}")

    with pytest.raises(DiskFullError, match="There is no room left for the logbook"):
        logbook.append(session, Lost("disk", "x" * 9000), [Record("noted")], stamp())
    assert [(0.0, Clock())] == logbook.events(session)
    logbook._connection.execute("PRAGMA max_page_count = 100000")
    logbook.append(session, Reading("n1", happened()[3][0].value, 1.0), [], stamp())
    assert 2 == len(logbook.events(session))


def test_logbook_store_keeps_text_that_no_file_should_hold(logbook):
    """A file name that is no UTF-8 reaches Python as half a surrogate pair (PEP 383)."""
    session = logbook.begin("A\0B", "\ud800", "caf\udce9.yaml", "f", stamp())
    record = Record("noted", "list/\ud800", (("\0", "\udfff"),))
    logbook.append(session, Lost("feed", "caf\udce9"), [record], stamp())

    assert (0.0, Lost("feed", "caf\udce9")) == logbook.events(session)[0]
    assert (0.0, record) == logbook.facts(session)[0]
    assert ("A\0B", "\\ud800", "caf\\udce9.yaml") == (
        logbook.session(session).aircraft,
        logbook.session(session).revision,
        logbook.session(session).file,
    )
    assert session == logbook.unfinished(file="caf\udce9.yaml").session
