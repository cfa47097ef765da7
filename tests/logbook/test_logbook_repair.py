"""A damaged logbook: what can be read is read, what is lost is told, nothing is written over.

Held against SQLite itself: of a whole file every row is what SQLite gives; of a file with a
page destroyed, every row that SQLite's own dbstat does not place on that page is kept.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing
from decimal import Decimal

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from logbook_samples import begin, happened, stamp

from callout.cli.main import main
from callout.engine.effects import Record
from callout.engine.events import Clock, Reading
from callout.logbook.errors import LogbookError
from callout.logbook.repair import LOST, repair
from callout.logbook.salvage import Pages, rows
from callout.logbook.store import Logbook
from callout.logbook.tables import TABLES

PAGE = 4096


def everything(path):
    """table -> rows, as SQLite gives them."""
    with closing(sqlite3.connect(path)) as base:
        return {
            name: base.execute(
                f"SELECT {', '.join(table.all)} FROM {name} ORDER BY {table.key}"
            ).fetchall()
            for name, table in TABLES.items()
        }


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Sixty sessions with all there is: rows of many pages, and pieces longer than a page."""
    path = tmp_path_factory.mktemp("made") / "log.db"
    chance = random.Random(7)
    with Logbook.open(path) as logbook:
        for n in range(60):
            session = begin(logbook, f"{n}.yaml")
            for k, (event, facts) in enumerate(happened()):
                logbook.note(session, Reading("volts", Decimal(k), 0.5), 0.5 + k)
                logbook.append(session, event, facts, stamp(k + 0.5))
            long = Record("ticked", "a/b", (("answer", "x" * (40 * n)),))
            logbook.append(session, Clock(), [long], stamp(8))
            when = (9.0, stamp().wall, 9.0, "")
            with logbook.writing():
                logbook.put("clips", (None, session, "1", "flac", 1.0, 2.0,
                                      chance.randbytes(300 * n), *when))  # fmt: skip
                logbook.put("acts", (None, session, 1, "closed", "pilot", "by hand", *when))
            if n % 3:
                logbook.finish(session, "ended", stamp(10))
    return path


@pytest.fixture
def path(made, tmp_path):
    return shutil.copy(made, tmp_path / "log.db")


def test_every_row_of_a_whole_file_is_kept_as_it_was(path, tmp_path):
    before, bytes_before = everything(path), path.read_bytes()
    done = repair(path, tmp_path / "new.db")
    assert before == everything(tmp_path / "new.db")
    assert {name: len(rows) for name, rows in before.items()} == dict(done.kept)
    assert (0, [], [], 0) == (done.unreadable, done.gaps, done.headless, done.stand_ins)
    assert bytes_before == path.read_bytes()
    with Logbook.open(tmp_path / "new.db") as logbook:
        assert 61 == begin(logbook)
        assert logbook.unfinished().session == 61


def noise(size: int) -> bytes:
    """So many bytes, the same in every run."""
    return random.Random(size).randbytes(size)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.one_of(st.none(), st.integers(-(2**63), 2**63 - 1)),
            st.floats(allow_nan=False),
            st.text(max_size=50),
            st.one_of(st.binary(max_size=60), st.integers(0, 20000).map(noise)),
        ),
        max_size=12,
    ),
    st.sampled_from([512, 1024, 4096, 65536]),
)
def test_pages_are_read_as_sqlite_wrote_them(tmp_path_factory, values, size):
    """Any value, any size of page, rows that go on over many pages."""
    path = tmp_path_factory.mktemp("any") / "any.db"
    with closing(sqlite3.connect(path)) as base:
        base.execute(f"PRAGMA page_size = {size}")
        base.execute("CREATE TABLE t (k INTEGER PRIMARY KEY, a, b, c, d)")
        base.executemany("INSERT INTO t (a, b, c, d) VALUES (?, ?, ?, ?)", values)
        base.commit()
        wanted = base.execute("SELECT * FROM t ORDER BY k").fetchall()
    pages = Pages(path)
    found = {key: row for at, key, row in rows(pages) if row is not None and at > 1}
    pages.close()
    assert repr(wanted) == repr([(key, *found[key][1:]) for key in sorted(found)])


def on_page(path, page):
    """table -> rowids that SQLite places on a page, or that go on over it."""
    with closing(sqlite3.connect(path)) as base:
        found = base.execute("SELECT name, pagetype FROM dbstat WHERE pageno = ?", (page,))
        return found.fetchone()


@pytest.mark.parametrize("seed", range(8))
def test_a_destroyed_page_loses_only_what_stood_on_it(path, tmp_path, seed):
    before = everything(path)
    chance = random.Random(seed)
    pages = Pages(path)
    page = chance.randrange(1, pages.count + 1)
    stood = {
        (len(row), key) for at, key, row in rows(pages) if at == page and row is not None
    }  # fmt: skip
    pages.close()
    name, kind = on_page(path, page) or ("", "free")
    with path.open("r+b") as file:
        file.seek((page - 1) * PAGE)
        file.write(chance.randbytes(PAGE) if seed % 2 else bytes(PAGE))

    done = repair(path, tmp_path / "new.db")
    after = everything(tmp_path / "new.db")

    for table, kept in before.items():
        lost = [row for row in kept if row not in after[table]]
        if kind == "overflow" and table == name:
            assert len(lost) <= 1
        else:
            missing = {(len(row), row[0]) for row in lost}
            if table == "entries":  # facts whose event is lost stay, with a stand-in for it
                assert len(lost) <= len(stood)
            assert missing <= stood
    told = done.unreadable + len(done.gaps) + len(done.headless) + done.stand_ins
    if name == "entries" and kind == "leaf":
        assert told > 0
    with Logbook.open(tmp_path / "new.db") as logbook:
        for row in logbook.sessions():
            assert logbook.events(row.session) is not None
            assert logbook.facts(row.session) is not None


@pytest.mark.parametrize("part", ["head", "first page", "inner pages", "end", "all zero but rows"])
def test_what_sqlite_itself_cannot_open_is_read_all_the_same(path, tmp_path, part):
    before = everything(path)
    data = bytearray(path.read_bytes())
    if part == "head":
        data[:100] = bytes(100)
    elif part == "first page":
        data[:PAGE] = bytes(PAGE)
    elif part == "inner pages":
        for at in range(0, len(data), PAGE):
            if data[at] in (0x02, 0x05):
                data[at : at + PAGE] = bytes(PAGE)
    elif part == "end":
        del data[-3 * PAGE - 77 :]
    else:
        data[:PAGE] = random.Random(3).randbytes(PAGE)
    path.write_bytes(data)
    with pytest.raises(LogbookError):
        Logbook.open(path)

    repair(path, tmp_path / "new.db")
    after = everything(tmp_path / "new.db")

    if part in ("head", "first page", "inner pages", "all zero but rows"):
        assert before == after
    else:
        assert sum(map(len, before.values())) * 0.9 < sum(map(len, after.values()))


def test_what_is_only_in_the_log_beside_the_file_is_read_too(path, tmp_path):
    with Logbook.open(path) as logbook:
        session = begin(logbook)
        logbook.append(session, *happened()[1], stamp(1))
        shutil.copytree(tmp_path, tmp_path / "copy")
        whole = everything(path)
    assert whole["sessions"] != []
    copy = tmp_path / "copy" / "log.db"
    assert copy.with_name("log.db-wal").stat().st_size > 0
    with copy.open("r+b") as file:
        file.write(bytes(100))
    repair(copy, tmp_path / "new.db")
    assert whole == everything(tmp_path / "new.db")


def test_a_torn_log_gives_what_was_committed_before_the_tear(path, tmp_path):
    with Logbook.open(path) as logbook:
        session = begin(logbook)
        logbook.append(session, *happened()[1], stamp(1))
        whole = everything(path)
        logbook.append(session, *happened()[3], stamp(2))
        shutil.copytree(tmp_path, tmp_path / "copy")
    log = tmp_path / "copy" / "log.db-wal"
    log.write_bytes(log.read_bytes()[:-5])
    repair(tmp_path / "copy" / "log.db", tmp_path / "new.db")
    assert whole == everything(tmp_path / "new.db")


def test_talk_that_was_removed_stays_removed(path, tmp_path):
    with Logbook.open(path) as logbook, logbook.writing():
        logbook.erase("DELETE FROM clips WHERE session > 20 RETURNING piece")
    kept = everything(path)["clips"]
    with path.open("r+b") as file:
        file.seek(2 * PAGE)
        file.write(bytes(PAGE))
    repair(path, tmp_path / "new.db")
    assert {row[0] for row in everything(tmp_path / "new.db")["clips"]} <= {row[0] for row in kept}


def test_a_session_whose_line_is_lost_is_called_so_and_its_entries_are_there(path, tmp_path):
    with closing(sqlite3.connect(path)) as base:
        base.execute("PRAGMA foreign_keys = OFF")
        base.execute("DROP TRIGGER sessions_keep_delete")
        base.execute("DELETE FROM sessions WHERE session = 7")
        base.commit()
        base.execute("VACUUM")
    done = repair(path, tmp_path / "new.db")
    assert [7] == done.headless
    with Logbook.read(tmp_path / "new.db") as logbook:
        assert LOST == logbook.session(7).aircraft
        assert [event for event, _ in happened()] == [
            event for _, event in logbook.events(7) if not isinstance(event, Reading | Clock)
            or event in [known for known, _ in happened()]
        ][:4]  # fmt: skip


def test_the_command_says_what_is_lost_and_never_writes_over(path, tmp_path):
    def run(*words):
        return CliRunner().invoke(main, ["log", "repair", *map(str, words)])

    whole = run(path, "--to", tmp_path / "one.db")
    assert 0 == whole.exit_code
    assert "60 sessions" in whole.stdout
    assert "Nothing is known to be missing.\n" in whole.stdout
    with path.open("r+b") as file:
        pages = Pages(path)
        leaf = next(at for at, _, row in rows(pages) if row is not None and len(row) == 11)
        pages.close()
        file.seek((leaf - 1) * PAGE)
        file.write(bytes(PAGE))
    hurt = run(path, "--to", tmp_path / "two.db")
    assert 1 == hurt.exit_code
    assert "Lost: entr" in hurt.stdout
    again = run(path, "--to", tmp_path / "two.db")
    assert (2, "") == (again.exit_code, again.stdout)
    assert "is there already" in again.stderr
    (tmp_path / "notes").write_text("battery on " * 900)
    nothing = run(tmp_path / "notes", "--to", tmp_path / "three.db")
    assert 2 == nothing.exit_code
    assert "Nothing of a logbook could be read" in nothing.stderr
    assert not (tmp_path / "three.db").exists()
