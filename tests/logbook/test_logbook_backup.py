"""A backup is a whole logbook of one moment, whoever writes meanwhile."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner
from logbook_samples import begin, happened, stamp, written
from logbook_writer import event, facts
from rights import without_rights

from callout.cli.main import main
from callout.logbook.backup import backup
from callout.logbook.errors import DamagedError, LogbookError
from callout.logbook.export import json_lines
from callout.logbook.store import Logbook

WRITER = Path(__file__).with_name("logbook_writer.py")


def exported(place):
    with Logbook.read(place) as logbook:
        return list(json_lines(logbook, logbook.numbers()))


def test_a_backup_made_while_a_session_is_written_is_whole(tmp_path):
    path = tmp_path / "log.db"
    with subprocess.Popen(
        [sys.executable, str(WRITER), str(path)], stdout=subprocess.PIPE
    ) as child:
        child.stdout.readline()
        kept = []
        for n in range(3):
            assert 1 == backup(path, tmp_path / f"copy-{n}.db")
            kept.append(exported(tmp_path / f"copy-{n}.db"))
            _wait_for_more(child, kept[-1])
        assert child.poll() is None
        child.kill()
    whole = exported(path)
    for lines, later in zip(kept, [*kept[1:], whole], strict=True):
        assert lines == later[: len(lines)]
    assert len(kept[0]) < len(kept[1]) < len(kept[2]) < len(whole)
    with Logbook.read(tmp_path / "copy-2.db") as logbook:
        events = [found for _, found in logbook.events(1)]
        assert [event(n) for n in range(len(events))] == events
        assert [one for n in range(len(events)) for one in facts(n)] == [
            fact for _, fact in logbook.facts(1)
        ]


def _wait_for_more(child, kept):
    """Until the writer says that it wrote an event that is not among these lines."""
    events = sum(line.startswith('{"line": "event"') for line in kept)
    while int(child.stdout.readline()) < events:
        pass


def test_a_backup_is_one_file_that_is_a_logbook_by_itself(tmp_path):
    with Logbook.open(tmp_path / "log.db") as logbook:
        for event_, facts_ in happened():
            logbook.append(begin(logbook), event_, facts_, stamp())
        backup(tmp_path / "log.db", tmp_path / "copy.db")
        assert exported(tmp_path / "log.db") == exported(tmp_path / "copy.db")
    beside = [one.name for one in tmp_path.iterdir() if one.name.startswith("copy")]
    assert ["copy.db"] == [name for name in beside if not name.endswith(("-wal", "-shm"))]
    with closing(sqlite3.connect(tmp_path / "copy.db")) as base:
        assert "ok" == base.execute("PRAGMA integrity_check").fetchone()[0]
    with Logbook.open(tmp_path / "copy.db") as logbook:
        assert 5 == begin(logbook)


def test_a_server_is_copied_into_a_file(tmp_path, database):
    with Logbook.open(database) as logbook:
        for _ in range(2):
            logbook.append(begin(logbook), *happened()[1], stamp(1))
    assert 2 == backup(database, tmp_path / "copy.db")
    assert exported(database) == exported(tmp_path / "copy.db")


def test_nothing_is_written_over_and_nothing_half_is_left(tmp_path):
    written(tmp_path / "log.db")
    mine = tmp_path / "mine.db"
    mine.write_text("mine")
    with pytest.raises(LogbookError, match="is there already"):
        backup(tmp_path / "log.db", mine)
    assert "mine" == mine.read_text()
    with pytest.raises(LogbookError, match="There is no folder"):
        backup(tmp_path / "log.db", tmp_path / "nowhere" / "copy.db")
    locked = tmp_path / "locked"
    locked.mkdir()
    with without_rights(locked), pytest.raises(LogbookError, match="cannot be"):
        backup(tmp_path / "log.db", locked / "copy.db")
    assert [] == list(locked.iterdir())


def test_a_damaged_logbook_is_not_called_a_backup(tmp_path):
    path = tmp_path / "log.db"
    written(path)
    data = bytearray(path.read_bytes())
    data[4096 * 3 : 4096 * 5] = b"\xa5" * 8192
    path.write_bytes(data)
    with pytest.raises(DamagedError, match="callout log repair"):
        backup(path, tmp_path / "copy.db")
    assert not (tmp_path / "copy.db").exists()


def test_a_full_disk_leaves_no_half_of_a_backup(tmp_path):
    path = tmp_path / "log.db"
    with Logbook.open(path) as logbook:
        session = begin(logbook)
        for n in range(300):
            logbook.append(session, event(n), facts(n), stamp())
    script = (
        "import resource, sys; from pathlib import Path\n"
        "from callout.logbook.backup import backup\n"
        "free = resource.getrlimit(resource.RLIMIT_FSIZE)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (90_000, free[1]))\n"
        "from callout.logbook.errors import LogbookError\n"
        "try: backup(Path(sys.argv[1]), Path(sys.argv[2]))\n"
        "except LogbookError as error: print(error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(path), str(tmp_path / "copy.db")],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert "did not do what" in done.stdout or "no room left" in done.stdout
    assert ["log.db"] == [
        one.name for one in tmp_path.iterdir() if one.suffix == ".db" or "part" in one.name
    ]


def test_the_command_says_what_was_copied(tmp_path):
    written(tmp_path / "log.db")
    words = ["log", "backup", str(tmp_path / "copy.db"), "--logbook", str(tmp_path / "log.db")]
    done = CliRunner().invoke(main, words)
    assert 0 == done.exit_code, done.output
    assert f"{tmp_path / 'copy.db'}: 1 session, 0.1 MB, checked.\n" == done.stdout
    again = CliRunner().invoke(main, words)
    assert (2, "") == (again.exit_code, again.stdout)
    assert "is there already" in again.stderr
