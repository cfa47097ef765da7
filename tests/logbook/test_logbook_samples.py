"""Readings that nothing followed from: many to a row, exact, in their place among the entries."""

from __future__ import annotations

import json
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
import zlib
from contextlib import closing
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from logbook_samples import BOOT_ID, begin, stamp

from callout.engine.effects import Record
from callout.engine.events import Clock, Reading, SessionOpened
from callout.logbook import migrations, samples
from callout.logbook.errors import EntryError, LogbookError
from callout.logbook.export import json_lines
from callout.logbook.store import Logbook
from callout.logbook.whole import whole

WRITER = Path(__file__).with_name("samples_writer.py")

FINITE = st.floats(allow_nan=False, allow_infinity=False)
READINGS = st.builds(
    Reading, st.text(max_size=20), st.decimals(allow_nan=False, allow_infinity=False), FINITE
)


def reading(n: int, gauge: str = "heat") -> Reading:
    return Reading(gauge, Decimal(n) / 10, n / 100)


@settings(deadline=None)
@given(st.lists(st.tuples(FINITE, READINGS), max_size=30))
def test_what_is_read_back_is_what_was_noted(noted):
    """repr, because Decimal("1.0") == Decimal("1.00") and -0.0 == 0.0."""
    assert repr(noted) == repr(samples.unpack(samples.pack(noted)))


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"not zlib",
        zlib.compress(b"[]"),
        zlib.compress(b"{}"),
        zlib.compress(b'{"gauges":["a"],"gauge":[0],"value":[],"at":[0],"now":[0]}'),
        zlib.compress(b'{"gauges":["a"],"gauge":[1],"value":["1"],"at":[0],"now":[0]}'),
        zlib.compress(b'{"gauges":["a"],"gauge":[0],"value":["x"],"at":[0],"now":[0]}'),
        zlib.compress(b" " * (samples.LARGEST + 1)),
    ],
)
def test_what_is_no_row_of_readings_is_refused(data):
    with pytest.raises(EntryError, match="A row of readings cannot be read"):
        samples.unpack(data)
    with pytest.raises(EntryError, match="A row of readings cannot be read"):
        samples.columns(data)


def test_looking_back_sees_the_values_that_are_replayed_in_the_order_of_their_times(tmp_path):
    """`whole` keeps columns, `events` gives each reading: two ways through the same rows."""
    with Logbook.open(tmp_path / "log.db") as logbook:
        session = begin(logbook)
        logbook.append(session, SessionOpened(), (), stamp(0.5))
        for number in (3, 1, 4, 2):
            logbook.note(session, reading(number), 5.0)
        logbook.note(session, Reading("oil-pressure", Decimal("NaN"), 1.0), 5.0)
        logbook.append(session, reading(0), [Record("limit passed")], stamp(6.0))
        logbook.finish(session, "ended", stamp(7.0))
        read = [one for _, one in logbook.events(session) if isinstance(one, Reading)]
        seen = whole(logbook, session)

    kept = sorted((one for one in read if one.value.is_finite()), key=lambda one: one.at)
    for gauge, column in seen.showed.items():
        wanted = [one for one in kept if one.gauge == gauge]
        assert [one.at for one in wanted] == column.times
        assert [str(one.value) for one in wanted] == column.texts
        assert [float(one.value) for one in wanted] == column.values
    assert {one.gauge for one in read} == set(seen.showed)
    assert (6, [Record("limit passed")]) == (seen.readings, [fact for _, fact in seen.facts])


def test_noted_readings_come_back_in_their_place_among_the_entries(tmp_path):
    with Logbook.open(tmp_path / "log.db") as logbook:
        session = begin(logbook)
        logbook.note(session, reading(0), 0.0)
        logbook.append(session, SessionOpened(), (), stamp(1.0))
        logbook.note(session, reading(1), 2.0)
        logbook.note(session, reading(2), 2.5)
        logbook.settle(stamp(3.0))
        logbook.note(session, reading(3), 4.0)
        logbook.append(session, reading(4), [Record("limit passed")], stamp(5.0))
        logbook.append(session, Clock(), (), stamp(5.0))
        logbook.note(session, reading(5), 6.0)
        logbook.finish(session, "ended", stamp(7.0))

        assert [
            (0.0, reading(0)),
            (1.0, SessionOpened()),
            (2.0, reading(1)),
            (2.5, reading(2)),
            (4.0, reading(3)),
            (5.0, reading(4)),
            (5.0, Clock()),
            (6.0, reading(5)),
        ] == logbook.events(session)


def test_what_is_not_settled_is_lost_with_the_program_and_nothing_else(tmp_path):
    path, copy = tmp_path / "log.db", tmp_path / "copy.db"
    with Logbook.open(path) as logbook:
        session = begin(logbook)
        logbook.append(session, SessionOpened(), (), stamp(1.0))
        logbook.note(session, reading(1), 2.0)
        for file in tmp_path.glob("log.db*"):  # what is on the disk at this moment
            shutil.copy(file, copy.with_name(file.name.replace("log.db", "copy.db")))
    with Logbook.open(copy) as logbook:
        assert [(1.0, SessionOpened())] == logbook.events(session)


def test_the_oldest_reading_that_waits_is_known(tmp_path):
    with Logbook.open(tmp_path / "log.db") as logbook:
        session = begin(logbook)
        assert logbook.noted_since is None
        logbook.note(session, reading(1), 2.0)
        logbook.note(session, reading(2), 3.0)
        assert 2.0 == logbook.noted_since
        logbook.settle(stamp(3.0))
        assert logbook.noted_since is None


def test_a_session_was_last_alive_when_its_last_readings_were_written(tmp_path):
    """Else a long silence of the pilot would count as time that nobody looked."""
    with Logbook.open(tmp_path / "log.db") as logbook:
        session = begin(logbook)
        logbook.append(session, SessionOpened(), (), stamp(1.0))
        logbook.note(session, reading(1), 599.0)
        logbook.settle(stamp(600.0))

        assert stamp(600.0) == logbook.session(session).last


def test_samples_are_append_only_and_belong_to_an_open_session(tmp_path):
    path = tmp_path / "log.db"
    with Logbook.open(path) as logbook:
        session = begin(logbook)
        logbook.note(session, reading(1), 1.0)
        logbook.finish(session, "ended", stamp(2.0))
        logbook.note(session, reading(2), 3.0)
        with pytest.raises(LogbookError, match="this session has ended"):
            logbook.settle(stamp(3.0))
    for change in ("UPDATE samples SET now = 9", "DELETE FROM samples"):
        with (
            closing(sqlite3.connect(path)) as other,
            pytest.raises(sqlite3.IntegrityError, match="append only"),
        ):
            other.execute(change)


def test_an_older_logbook_is_brought_up_to_date_and_keeps_what_it_holds(tmp_path):
    path = tmp_path / "log.db"
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        migrations.migrate(connection, path, migrations.MIGRATIONS[:1])
        connection.execute(
            "INSERT INTO sessions VALUES "
            "(1, 'old', '1', 'f', 'abc', 0, '2031-05-04T09:00:00Z', 0, '')"
        )
        connection.execute(
            "INSERT INTO entries VALUES (1, 1, NULL, 'event', 'Clock', '', '{}', 1, "
            "'2031-05-04T09:00:01Z', 1, '')"
        )
    with Logbook.open(path) as logbook:
        logbook.note(1, reading(1), 2.0)
        logbook.settle(stamp(2.0))

        assert [(1.0, Clock()), (2.0, reading(1))] == logbook.events(1)


def test_the_export_holds_them(tmp_path):
    with Logbook.open(tmp_path / "log.db") as logbook:
        session = begin(logbook)
        logbook.note(session, reading(1), 2.0)
        logbook.settle(stamp(3.0))

        lines = [json.loads(line) for line in json_lines(logbook, [session])]
        when = {"now": 3.0, "wall": stamp(3.0).wall, "boot": 1003.0, "boot_id": BOOT_ID}
        assert {
            "line": "samples", "batch": 1, "session": 1, "after": 0,
            "readings": [["heat", "0.1", 0.01, 2.0]],
        } | when == lines[1]  # fmt: skip


@pytest.mark.parametrize("seed", range(2))
def test_a_kill_loses_only_readings_that_were_not_said_to_be_written(tmp_path, seed):
    """The writer's readings count up; each settled row and each entry was on the disk."""
    chance = random.Random(seed)
    path = tmp_path / "log.db"
    for _ in range(4):
        with subprocess.Popen(
            [sys.executable, str(WRITER), str(path)], stdout=subprocess.PIPE
        ) as child:
            assert child.stdout is not None
            said = child.stdout.readline()
            time.sleep(chance.uniform(0.0, 0.15))
            child.send_signal(signal.SIGKILL)
            said += child.stdout.read()
        promised = [int(line) for line in said[: said.rfind(b"\n") + 1].split()]
        with Logbook.open(path) as logbook:
            kept = [event.at for _, event in logbook.events(1) if isinstance(event, Reading)]
        assert list(range(len(kept))) == kept
        assert promised[-1] < len(kept)
