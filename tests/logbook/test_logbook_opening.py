"""A large logbook opens without being read whole, and damage is told of all the same.

Large and small are only a number here: every file counts as large with `small=0`.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from logbook_samples import begin, happened, stamp

from callout.engine.events import Clock
from callout.logbook import opening_check
from callout.logbook.errors import DamagedError
from callout.logbook.opening_check import DAYS, OVERDUE, SUSPECT, at_the_end, due, overdue, today
from callout.logbook.store import Logbook

PAGE = 4096


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook of some hundred pages: more sessions than the cheap check reads."""
    file = tmp_path_factory.mktemp("made") / "log.db"
    with Logbook.open(file) as logbook:
        for _ in range(300):
            session = begin(logbook)
            for n, (event, facts) in enumerate(happened()):
                logbook.append(session, event, facts, stamp(n + 0.5))
            logbook.finish(session, "ended", stamp(9))
    return file


@pytest.fixture
def path(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(made, tmp_path / "log.db"))


def break_page(path: Path, page: int) -> None:
    with path.open("r+b") as file:
        file.seek(page * PAGE)
        file.write(b"\xa5" * PAGE)


def opened(path: Path) -> None:
    """As a session does."""
    with Logbook.open(path, small=0) as logbook:
        logbook.append(begin(logbook), Clock(), [], stamp())


def ended(path: Path, *, unclean: bool = False) -> list[str]:
    """What is said at the end of a session."""
    said: list[str] = []
    at_the_end(path, unclean=unclean, say=said.append, most=0)
    return said


def checked_on(path: Path) -> int:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute("PRAGMA user_version").fetchone()[0]


def set_day(path: Path, day: int) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(f"PRAGMA user_version = {day}")


def middle_of(path: Path) -> int:
    """A page of entries that are neither the latest nor the first."""
    query = "SELECT pageno FROM dbstat WHERE name = 'entries' AND pagetype = 'leaf' ORDER BY pageno"
    try:
        with closing(sqlite3.connect(path)) as connection:
            pages = [number for (number,) in connection.execute(query)]
    except sqlite3.OperationalError:  # this SQLite was built without dbstat
        return path.stat().st_size // PAGE // 3
    return pages[len(pages) // 3] - 1


def test_every_damaged_page_is_told_of_when_the_file_is_opened_or_after_the_session(path):
    whole = path.read_bytes()
    told_at_once = told_after = 0
    for page in range(1, len(whole) // PAGE):
        path.write_bytes(whole)
        break_page(path, page)
        try:
            opened(path)
        except DamagedError:
            told_at_once += 1
        else:
            with pytest.raises(DamagedError, match="is damaged"):
                ended(path, unclean=True)
            told_after += 1
        for leftover in ("-wal", "-shm"):
            path.with_name(path.name + leftover).unlink(missing_ok=True)

    assert len(whole) // PAGE - 1 == told_at_once + told_after
    assert told_at_once > 0
    assert told_after > 0


def test_what_was_found_after_a_session_keeps_the_file_from_being_opened_again(path):
    break_page(path, middle_of(path))
    opened(path)
    with pytest.raises(DamagedError):
        ended(path)

    assert SUSPECT == checked_on(path)
    for way in (Logbook.open, Logbook.read):
        with pytest.raises(DamagedError):
            way(path, small=0)


def test_a_small_file_is_checked_whole_when_it_is_opened_and_not_again(path):
    break_page(path, middle_of(path))

    with pytest.raises(DamagedError):
        Logbook.open(path)
    at_the_end(path, unclean=True, say=pytest.fail)


def test_a_good_file_is_checked_once_in_a_while_and_the_day_is_kept(path):
    before = today()
    first, second = ended(path), ended(path)

    assert ["Checking the whole logbook (1 MB). Ctrl-C leaves it for later."] == first
    assert before <= checked_on(path) <= today()  # midnight may come in between
    assert [] == second
    set_day(path, before - DAYS)
    assert 1 == len(ended(path))


def test_after_an_end_that_was_none_it_is_checked_though_it_is_not_due(path):
    ended(path)
    killed = path.with_name("killed.db")
    with Logbook.open(path) as logbook:
        logbook.append(begin(logbook), Clock(), [], stamp())
        shutil.copy(path, killed)  # as a kill leaves it: the log still has the last entry
        shutil.copy(f"{path}-wal", f"{killed}-wal")

    with Logbook.open(killed, small=0) as logbook:
        unclean = logbook.unclean
        assert 301 == len(logbook.sessions())
    with Logbook.open(path, small=0) as logbook:
        clean = logbook.unclean

    assert unclean
    assert not clean
    assert 1 == len(ended(killed, unclean=unclean))
    assert [] == ended(path, unclean=clean)


@pytest.mark.parametrize(("days", "is_due", "is_overdue"), [
    (0, False, False), (DAYS - 1, False, False), (DAYS, True, False),
    (OVERDUE, True, False), (OVERDUE + 1, True, True),
])  # fmt: skip
def test_days_count_from_the_last_whole_check(path, days, is_due, is_overdue):
    set_day(path, 20000)
    with closing(sqlite3.connect(path)) as connection:
        assert is_due is due(connection, 20000 + days)
        assert is_overdue is overdue(connection, 20000 + days)


def test_a_file_that_was_not_checked_for_far_too_long_is_checked_before_it_is_opened(path):
    break_page(path, middle_of(path))
    set_day(path, today() - OVERDUE - 1)

    with pytest.raises(DamagedError):
        Logbook.open(path, small=0)


def test_a_file_cut_short_is_told_of_at_once(path):
    os.truncate(path, path.stat().st_size - 2 * PAGE)

    for way in (Logbook.open, Logbook.read):
        with pytest.raises(DamagedError):
            way(path, small=0)


def test_the_latest_entries_are_looked_for_by_their_index(path):
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA writable_schema = ON")
        root = "SELECT rootpage FROM sqlite_schema WHERE name = 'entries_of_session'"
        (page,) = connection.execute(root).fetchone()
        connection.execute("CREATE INDEX another ON entries (kind)")
        other = "SELECT rootpage FROM sqlite_schema WHERE name = 'another'"
        (empty,) = connection.execute(other).fetchone()
        change = "UPDATE sqlite_schema SET rootpage = ? WHERE name = ?"
        connection.execute(change, (empty, "entries_of_session"))
        connection.execute(change, (page, "another"))

    with pytest.raises(DamagedError):
        Logbook.open(path, small=0)


def test_opening_reads_a_few_pages_of_a_large_file(path):
    """Counted in SQLite's own virtual machine steps, which do not depend on the machine."""
    assert steps(path, opening_check.cheap) * 5 < steps(path, opening_check.whole)


def steps(path: Path, check) -> int:
    count = 0

    def one() -> int:
        nonlocal count
        count += 1
        return 0

    with closing(sqlite3.connect(path)) as connection:
        connection.set_progress_handler(one, 1)
        check(connection, path)
    return count
