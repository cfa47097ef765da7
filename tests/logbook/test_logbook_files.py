"""Files that are no logbook, are damaged, newer, or may not be written."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

import pytest
from logbook_samples import begin, happened, stamp, written
from rights import without_rights

from callout.engine.events import Clock
from callout.logbook import migrations
from callout.logbook.errors import (
    DamagedError,
    LockedError,
    LogbookError,
    NewerError,
    NotALogbookError,
    ReadOnlyError,
)
from callout.logbook.places import default_logbook
from callout.logbook.store import Logbook

BOTH = pytest.mark.parametrize("opened", [Logbook.open, Logbook.read])


@BOTH
@pytest.mark.parametrize(
    "content",
    [b"my list: battery on\n", bytes(range(256)) * 40, b"SQLite format 3\0", b"PK\3\4" * 999],
)
def test_logbook_files_leaves_a_file_of_another_kind_as_it_is(tmp_path, opened, content):
    path = tmp_path / "notes.txt"
    path.write_bytes(content)

    with pytest.raises(NotALogbookError) as refused:
        opened(path)

    assert f"{path} is not a callout logbook" in str(refused.value)
    assert content == path.read_bytes()
    assert ["notes.txt"] == [file.name for file in tmp_path.iterdir()]


@BOTH
@pytest.mark.parametrize(
    "script",
    ["CREATE TABLE photos (name TEXT)", "PRAGMA application_id = 7"],
)
def test_logbook_files_leaves_the_database_of_another_program_as_it_is(tmp_path, opened, script):
    path = tmp_path / "photos.db"
    with closing(sqlite3.connect(path)) as other:
        other.execute(script)
    before = path.read_bytes()

    with pytest.raises(NotALogbookError, match="it is a SQLite file of another program"):
        opened(path)

    assert before == path.read_bytes()
    assert ["photos.db"] == [file.name for file in tmp_path.iterdir()]


def test_logbook_files_makes_a_logbook_of_an_empty_file(tmp_path):
    path = tmp_path / "logbook.db"
    path.touch()
    with pytest.raises(LogbookError, match="is empty: no session was written to it yet"):
        Logbook.read(path)

    assert 1 == written(path)


@BOTH
def test_logbook_files_says_that_a_folder_a_device_or_a_bad_name_is_no_logbook(tmp_path, opened):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    for path, sentence in (
        (tmp_path, "is no file (a folder or a device)"),
        (tmp_path / "pipe", "is no file (a folder or a device)"),
        (Path("/dev/null"), "is no file (a folder or a device)"),
        (tmp_path / "loop", "cannot be the name of a logbook"),
        (Path("nul\0.db"), "cannot be the name of a logbook"),
    ):
        with pytest.raises(LogbookError) as refused:
            opened(path)
        assert sentence in str(refused.value)


def test_logbook_files_says_that_nothing_is_there_to_read(tmp_path):
    with pytest.raises(LogbookError, match="There is no logbook at"):
        Logbook.read(tmp_path / "logbook.db")

    assert [] == list(tmp_path.iterdir())


def test_logbook_files_says_that_a_folder_cannot_be_made(tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(LogbookError, match="cannot be opened: Not a directory"):
        Logbook.open(tmp_path / "file" / "logbook.db")
    with pytest.raises(LogbookError, match="cannot be the name of a logbook: File name too long"):
        Logbook.open(tmp_path / ("long" * 100) / "logbook.db")


@BOTH
def test_logbook_files_finds_damage_before_anything_is_written(tmp_path, opened):
    """Each page of the file but the first in turn is overwritten."""
    path = tmp_path / "logbook.db"
    written(path)
    whole = path.read_bytes()
    for page in range(1, len(whole) // 4096):
        broken = whole[: page * 4096] + b"\xa5" * 4096 + whole[(page + 1) * 4096 :]
        path.write_bytes(broken)
        with pytest.raises(DamagedError) as refused:
            opened(path)
        assert f"The logbook {path} is damaged" in str(refused.value)
        assert broken == path.read_bytes()


def test_logbook_files_finds_a_file_cut_short(tmp_path):
    path = tmp_path / "logbook.db"
    written(path)
    os.truncate(path, path.stat().st_size - 4096 * 2)

    with pytest.raises(DamagedError):
        Logbook.open(path)


def test_logbook_files_names_the_session_whose_time_was_spoilt(tmp_path):
    path = tmp_path / "logbook.db"
    session = written(path)
    with closing(sqlite3.connect(path)) as other:
        other.execute("DROP TRIGGER entries_keep_UPDATE")
        other.execute("UPDATE entries SET wall = 'noon' WHERE seq = 3")
        other.commit()

    with Logbook.open(path) as logbook, pytest.raises(DamagedError, match="Session 1 of the logb"):
        logbook.events(session)


def test_logbook_files_names_the_entry_that_cannot_be_understood(tmp_path):
    path = tmp_path / "logbook.db"
    session = written(path)
    with closing(sqlite3.connect(path)) as other:
        other.execute(
            "INSERT INTO entries SELECT NULL, 1, NULL, 'event', 'Squawked', '', '{}', "
            "now, wall, boot, boot_id FROM entries WHERE seq = 1"
        )
        other.commit()

    with Logbook.open(path) as logbook, pytest.raises(LogbookError) as refused:
        logbook.events(session)
    assert "Entry 9 of session 1 cannot be read: The logbook holds an event 'Squawked'" in (
        str(refused.value)
    )


@BOTH
def test_logbook_files_leaves_what_a_newer_callout_wrote(tmp_path, opened):
    path = tmp_path / "logbook.db"
    written(path)
    with closing(sqlite3.connect(path)) as other:
        other.execute("INSERT INTO migrations (name, taken) VALUES ('squawks', '')")
        other.commit()
    before = path.read_bytes()

    with pytest.raises(NewerError, match="newer callout \\(its step 'squawks' is not known here"):
        opened(path)
    assert before == path.read_bytes()


def test_logbook_files_step_that_fails_leaves_nothing_of_itself(tmp_path):
    """A step and the row that records it are one transaction."""

    def half(connection):
        connection.execute("CREATE TABLE half (x)")
        raise ZeroDivisionError

    def whole(connection):
        connection.execute("CREATE TABLE whole (x)")

    path = tmp_path / "logbook.db"
    written(path)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        steps = (*migrations.MIGRATIONS, ("whole", whole), ("half", half))
        assert ["whole", "half"] == migrations.pending(connection, path, steps)
        with pytest.raises(ZeroDivisionError):
            migrations.migrate(connection, path, steps)

        known = [name for name, _ in migrations.MIGRATIONS]
        assert [*known, "whole"] == migrations.applied(connection)
        assert ["half"] == migrations.pending(connection, path, steps)
        tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_schema")}
        assert "whole" in tables
        assert "half" not in tables


def test_logbook_files_second_opening_is_refused_until_the_first_is_closed(tmp_path):
    """Also by another name for the same file, and in the same program."""
    path = tmp_path / "logbook.db"
    (tmp_path / "link.db").symlink_to(path)
    with Logbook.open(path) as logbook:
        for name in (path, tmp_path / "link.db", tmp_path / "." / "logbook.db"):
            with pytest.raises(LockedError) as refused:
                Logbook.open(name)
            assert f"in use by another callout (process {os.getpid()})" in str(refused.value)
        logbook.append(begin(logbook), Clock(), [], stamp())

    Logbook.open(path).close()


def test_logbook_files_read_only_is_read_and_not_written():
    """In a folder that any user may enter, which pytest's own is not."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        written(folder / "logbook.db")
        with without_rights(folder):
            with pytest.raises(ReadOnlyError, match="its folder or the disk is read-only"):
                Logbook.open(folder / "logbook.db")
            with pytest.raises(ReadOnlyError, match="its folder or the disk is read-only"):
                Logbook.open(folder / "new" / "logbook.db")
            with Logbook.read(folder / "logbook.db") as logbook:
                assert [event for event, _ in happened()] == [e for _, e in logbook.events(1)]


def test_logbook_files_read_only_with_a_log_beside_it_says_to_copy_both(tmp_path):
    """Without the -wal file the newest entries would be left out without a word."""
    path = tmp_path / "logbook.db"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with Logbook.open(path) as logbook:
            logbook.append(begin(logbook), Clock(), [], stamp())
            shutil.copy(path, folder)
            shutil.copy(tmp_path / "logbook.db-wal", folder)
        with without_rights(folder), pytest.raises(LogbookError, match="Copy both files"):
            Logbook.read(folder / "logbook.db")
        with Logbook.read(folder / "logbook.db") as logbook:
            assert [(0.0, Clock())] == logbook.events(1)


def test_logbook_files_default_lies_among_the_persons_own_data():
    path = default_logbook()

    assert path.is_absolute()
    assert ("callout", "logbook.db") == (path.parent.name, path.name)
