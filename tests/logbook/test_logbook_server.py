"""The same logbook in a PostgreSQL database: a real server of Debian's packages.

What is in it is asked through psql too, which shares no line with callout.
"""

from __future__ import annotations

import threading
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from logbook_samples import begin, happened, stamp
from postgres_server import Server, running
from test_logbook_codec import ANY_EVENT, ANY_RECORD
from test_logbook_export import ANY_STAMP

from callout.engine.events import Clock, Reading
from callout.logbook import migrations
from callout.logbook.dialect import postgres, statements
from callout.logbook.errors import (
    LogbookError,
    NewerError,
    NoSuchSessionError,
    NotALogbookError,
    ServerLostError,
)
from callout.logbook.places import place
from callout.logbook.store import Logbook
from callout.logbook.tables import TABLES


def fill(logbook):
    """A session of everything there is; gives its number."""
    session = begin(logbook)
    for n, (event, facts) in enumerate(happened()):
        logbook.append(session, event, facts, stamp(n + 0.5))
    logbook.note(session, Reading("volts", Decimal("2.50"), 9.0), 9.0)
    logbook.finish(session, "ended", stamp(10))
    when = (10.0, stamp(10).wall, 1.5, "")
    for table, values in (
        ("clips", (session, "1", "flac", 0.5, 2.25, b"\x00\xffsound", *when)),
        ("acts", (session, 1, "closed", "pilot", "by hand", *when)),
    ):
        list(logbook.select(TABLES[table].insert(keyed=False), *values))
    return session


def told(logbook):
    """All that a logbook gives back."""
    return [
        (row, list(logbook.entries(row.session)), logbook.events(row.session),
         logbook.facts(row.session), list(logbook.samples(row.session)))
        for row in logbook.sessions()
    ]  # fmt: skip


def test_a_server_gives_back_what_a_file_gives_back(tmp_path, database):
    with Logbook.open(tmp_path / "log.db") as file, Logbook.open(database) as server:
        for logbook in (file, server):
            assert [1, 2] == [fill(logbook), begin(logbook, fingerprint="other")]
        assert told(file) == told(server)
        assert file.unfinished() == server.unfinished()
        assert file.unfinished("abc") is server.unfinished("abc") is None
    with Logbook.read(database) as server, Logbook.read(tmp_path / "log.db") as file:
        assert told(file) == told(server)
        for table in TABLES.values():
            query = f"SELECT * FROM {table.name} ORDER BY {table.key}"
            assert list(file.select(query)) == list(server.select(query))


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(st.tuples(ANY_EVENT, st.lists(ANY_RECORD, max_size=2), ANY_STAMP), max_size=4))
def test_a_server_loses_nothing_of_any_event(database, steps):
    """But for the NUL, which PostgreSQL's text cannot hold: it is spelled out."""
    with Logbook.open(database) as logbook:
        session = begin(logbook)
        for event, facts, when in steps:
            logbook.append(session, event, facts, when)
        assert repr([event for event, _, _ in steps]) == repr(
            [event for _, event in logbook.events(session)]
        )
        assert repr([fact for _, facts, _ in steps for fact in facts]) == repr(
            [fact for _, fact in logbook.facts(session)]
        )
        spelled = [when.boot_id.replace("\x00", "\\x00") for _, _, when in steps]
        kept = [entry.stamp for entry in logbook.entries(session, "event")]
        assert spelled == [when.boot_id for when in kept]
        assert repr([(w.now, w.boot) for _, _, w in steps]) == repr([(w.now, w.boot) for w in kept])


def test_psql_reads_the_tables_and_the_views(postgres, database):
    with Logbook.open(database) as logbook:
        fill(logbook)
    name = database.url.split("/")[3].partition("?")[0]

    def ask(query):
        return postgres.sql(name, query).strip()

    for table in TABLES.values():
        columns = ask(
            "SELECT string_agg(attname, ',' ORDER BY attnum) FROM pg_attribute "
            f"WHERE attrelid = '{table.name}'::regclass AND attnum > 0"
        )
        assert ",".join(table.all) == columns
    assert "4|before-start|battery|on" == ask(
        "SELECT seq, list, item, details ->> 'answer' FROM ticks WHERE item = 'battery'"
    )
    assert "volts|24.5|24.50|3.75" == ask("SELECT gauge, value, written, at FROM readings")
    assert "list opened\nlist complete" == ask("SELECT fact FROM lists ORDER BY seq")
    assert "Invented helicopter|ended|2" == ask("SELECT aircraft, how, ticks FROM ended")


CHANGES = [
    change.format(table)
    for table in TABLES
    for change in ("UPDATE {0} SET now = 1", "DELETE FROM {0}")
    if table != "clips"  # talk, which may be removed
]


@pytest.mark.parametrize("change", [*CHANGES, "UPDATE clips SET now = 1"])
def test_nobody_changes_or_removes_anything(database, change):
    table = change.split()[1 if change.startswith("UPDATE") else 2]
    with Logbook.open(database) as logbook:
        fill(logbook)
        with pytest.raises(LogbookError, match=f"append only: nothing in {table} is changed"):
            list(logbook.select(change))
        assert 1 == len(told(logbook))


def test_a_session_that_ended_or_is_not_there_takes_nothing(database):
    with Logbook.open(database) as logbook:
        session = fill(logbook)
        before = told(logbook)
        with pytest.raises(LogbookError, match="this session has ended"):
            logbook.append(session, Clock(), [], stamp(11))
        with pytest.raises(NoSuchSessionError, match="holds no session 77"):
            logbook.append(77, Clock(), [], stamp(11))
        assert before == told(logbook)


def test_two_machines_write_at_once_and_neither_loses_or_mixes_anything(database):
    """Numbers grow in the order of the commits, also when both open an empty database."""
    began = threading.Barrier(2)

    def write(found):
        began.wait()
        with Logbook.open(database) as logbook:
            session = begin(logbook)
            for n in range(40):
                logbook.append(session, Clock(), happened()[1][1], stamp(n))
            logbook.finish(session, "ended", stamp(40))
            found.append(session)

    sessions: list[int] = []
    threads = [threading.Thread(target=write, args=(sessions,)) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    with Logbook.read(database) as logbook:
        assert [1, 2] == sorted(sessions)
        taken = []
        for session in sessions:
            entries = list(logbook.entries(session))
            assert [float(n) for n in range(40) for _ in range(2)] == [e.stamp.now for e in entries]
            assert [None, entries[0].seq] * 1 == [entries[0].event, entries[1].event]
            taken += [entry.seq for entry in entries]
        assert 160 == len(set(taken)) == max(taken)


def test_a_server_that_goes_away_is_told_and_what_was_committed_is_there(tmp_path):
    with running() as server:
        database = server.database("one")
        logbook = Logbook.open(database)
        session = begin(logbook)
        logbook.append(session, *happened()[1], stamp(1))
        server.stop()
        with pytest.raises(ServerLostError, match="does not answer"):
            logbook.append(session, *happened()[2], stamp(2))
        with pytest.raises(ServerLostError, match="does not answer"):
            logbook.append(session, *happened()[2], stamp(2))
        logbook.close()
        with pytest.raises(ServerLostError, match="does not answer"):
            Logbook.open(database)
        server.start()
        with Logbook.open(database) as logbook:
            assert [1.0, 1.0] == [entry.stamp.now for entry in logbook.entries(session)]


def test_what_is_no_logbook_of_ours_is_left_as_it_is(postgres, database):
    name = database.url.split("/")[3].partition("?")[0]
    postgres.sql(name, "CREATE TABLE sessions (mine integer)")
    with pytest.raises(NotALogbookError, match="has a table of the name sessions already"):
        Logbook.open(database)
    assert "0" == postgres.sql(name, "SELECT count(*) FROM sessions").strip()


def test_an_empty_and_a_newer_database_are_told_apart(database):
    with pytest.raises(NotALogbookError, match="is empty"):
        Logbook.read(database)
    with Logbook.open(database) as logbook:
        list(logbook.select("INSERT INTO migrations (name, taken) VALUES ('wings', '') "
                            "RETURNING step"))  # fmt: skip
    with pytest.raises(NewerError, match="its step 'wings' is not known here"):
        Logbook.open(database)


@pytest.mark.parametrize(
    ("url", "sentence"),
    [
        ("postgresql://postgres@/nowhere?host={0}", "has no database for the logbook"),
        ("postgresql://postgres@/x?host={0}&color=red", "'color' is not known"),
        ("postgresql://postgres@/x?host={0}&sslmode=maybe", "sslmode must be"),
        ("postgresql+nothing://postgres@/x", "There is no driver 'postgresql\\+nothing'"),
        ("postgresql://postgres@localhost:1/x", "does not answer"),
    ],
)
def test_a_url_that_leads_nowhere_is_told_in_a_sentence(postgres, url, sentence):
    with pytest.raises(LogbookError, match=sentence):
        Logbook.open(Server(url.format(postgres.folder)))


def test_a_password_is_never_shown():
    shown = str(place("postgres://club:se%40cret:2@db.example:5433/log?sslmode=require"))
    assert "postgresql://club@db.example:5433/log?sslmode=require" == shown


@pytest.mark.parametrize("words", ["mysql://x/y", "http://x", "sqlite://"])
def test_a_url_of_something_else_is_refused(words):
    with pytest.raises(LogbookError, match="names no logbook"):
        place(words)


def test_a_sqlite_url_is_its_file():
    assert ["/a b/c.db", "c.db"] == [
        str(place(words)) for words in ("sqlite:////a%20b/c.db", "sqlite:///c.db")
    ]


def test_every_step_of_the_tables_has_nothing_left_that_only_sqlite_knows():
    class Collecting:
        """Takes statements as a connection does."""

        def __init__(self):
            self.said = []

        def execute(self, sql, parameters=()):
            self.said += postgres(sql)

    collecting = Collecting()
    for _, step in migrations.MIGRATIONS:
        step(collecting)
    text = "\n".join(collecting.said)
    for word in ("AUTOINCREMENT", "STRICT", " REAL", "RAISE(", "json_valid", "json_each", "BLOB"):
        assert word not in text
    assert list(statements("SELECT 1;\nSELECT 2;\n")) == ["SELECT 1;", "SELECT 2;"]
