"""Sessions, events and facts in a real file, by way of the store."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from logbook_samples import begin, happened, stamp, written
from test_logbook_codec import ANY_EVENT, ANY_RECORD

from callout.engine.effects import Record
from callout.engine.events import Clock, Lost, Reading
from callout.logbook.errors import DiskFullError, EntryError, LogbookError, NoSuchSessionError
from callout.logbook.store import Logbook


@pytest.fixture
def logbook(tmp_path):
    with Logbook.open(tmp_path / "logbook.db") as opened:
        yield opened


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
