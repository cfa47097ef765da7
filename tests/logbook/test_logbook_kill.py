"""What is left after SIGKILL at any moment, and after a log torn at any byte.

A kill proves that a commit is whole in the file; that it also reached the disk
is SQLite's promise for synchronous=FULL (sqlite.org/pragma.html#pragma_synchronous),
checked in test_logbook_store.py. The torn logs stand for the power cut.
"""

from __future__ import annotations

import random
import select
import shutil
import signal
import subprocess
import sys
import time
from itertools import pairwise
from pathlib import Path

import pytest
from logbook_samples import stamp
from logbook_writer import event, facts

from callout.engine.events import Stopped
from callout.logbook.errors import LogbookError
from callout.logbook.store import Logbook

WRITER = Path(__file__).with_name("logbook_writer.py")


def killed(path: Path, seconds: float, *, once_it_writes: bool) -> list[int]:
    """Numbers the writer said were on the disk before it was killed after `seconds`."""
    with subprocess.Popen(
        [sys.executable, str(WRITER), str(path)], stdout=subprocess.PIPE
    ) as child:
        if once_it_writes:
            assert select.select([child.stdout], [], [], 240)[0], "it wrote nothing"
        time.sleep(seconds)
        child.send_signal(signal.SIGKILL)
        said = child.stdout.read()
        assert -signal.SIGKILL == child.wait()
    whole = said[: said.rfind(b"\n") + 1]
    return [int(line) for line in whole.split()]


def numbers_kept(logbook: Logbook) -> int:
    """How many events the unfinished session holds, each checked with all its facts."""
    row = logbook.unfinished()
    if row is None:
        return 0
    events = [found for _, found in logbook.events(row.session)]
    kept = [found for _, found in logbook.facts(row.session)]
    assert [event(n) for n in range(len(events))] == events
    assert [fact for n in range(len(events)) for fact in facts(n)] == kept
    return len(events)


@pytest.mark.parametrize("seed", range(3))
def test_logbook_kill_loses_no_append_that_returned_and_leaves_none_half(tmp_path, seed):
    """Ten kills of one file: at any moment of opening, resuming and writing."""
    chance = random.Random(seed)
    path = tmp_path / "logbook.db"
    before = 0
    for turn in range(10):
        # Odd turns count from the start of the program: they also hit the opening.
        writes = turn % 2 == 0
        said = killed(path, chance.uniform(0, 0.12 if writes else 0.4), once_it_writes=writes)

        with Logbook.open(path) as logbook:
            kept = numbers_kept(logbook)
        assert list(range(before, before + len(said))) == said
        assert len(said) <= kept - before <= len(said) + 1
        before = kept
    assert before > 0


def test_logbook_kill_in_the_first_milliseconds_leaves_a_file_that_opens(tmp_path):
    """The file is being made: created, turned to a write-ahead log, given its tables."""
    first = time.monotonic()
    with subprocess.Popen(
        [sys.executable, str(WRITER), str(tmp_path / "first.db")], stdout=subprocess.PIPE
    ) as child:
        child.stdout.readline()
        usual = min(5.0, time.monotonic() - first)  # a machine may be busy just then
        child.kill()
    for turn in range(12):
        path = tmp_path / f"{turn}.db"
        said = killed(path, usual * (0.7 + 0.3 * turn / 11), once_it_writes=False)

        with Logbook.open(path) as logbook:
            assert len(said) <= numbers_kept(logbook) <= len(said) + 1


def test_logbook_kill_leaves_no_lock_behind_and_the_session_goes_on(tmp_path):
    path = tmp_path / "logbook.db"
    said = killed(path, 0.0, once_it_writes=True)

    assert (tmp_path / "logbook.db.lock").exists()
    assert (tmp_path / "logbook.db-wal").exists()
    with Logbook.open(path) as logbook:
        row = logbook.unfinished(fingerprint="abc", file="f.yaml")
        logbook.append(row.session, Stopped("end"), [], stamp())
        logbook.finish(row.session, "stopped", stamp())
        assert logbook.unfinished() is None
        assert Stopped("end") == logbook.events(row.session)[-1][1]
        assert len(said) < len(logbook.events(row.session))


def test_logbook_kill_torn_log_keeps_every_whole_append_before_the_tear(tmp_path):
    """The -wal file cut, or one of its bytes changed, at 60 random places."""
    path, chance = tmp_path / "logbook.db", random.Random(60)
    ends = []
    with Logbook.open(path) as logbook:
        session = logbook.begin("Invented", "1", "f.yaml", "abc", stamp())
        for n in range(40):
            logbook.append(session, event(n), facts(n), stamp())
            ends.append((tmp_path / "logbook.db-wal").stat().st_size)
        assert all(early < late for early, late in pairwise(ends))
        shutil.copytree(tmp_path, tmp_path / "cut")
    log = (tmp_path / "cut" / "logbook.db-wal").read_bytes()
    for turn in range(60):
        place = chance.randrange(ends[0], len(log))
        torn = log[:place]
        if turn % 2:
            torn += bytes([log[place] ^ 0x40]) + log[place + 1 :]
        folder = tmp_path / f"torn-{turn}"
        folder.mkdir()
        shutil.copy(tmp_path / "cut" / "logbook.db", folder)
        (folder / "logbook.db-wal").write_bytes(torn)

        with Logbook.open(folder / "logbook.db") as logbook:
            assert sum(end <= place for end in ends) == numbers_kept(logbook)


def test_logbook_kill_no_room_on_disk_keeps_what_was_written_and_goes_on_afterwards(tmp_path):
    """A limit on the size of files makes the system refuse the write, as a broken disk does."""
    script = (
        "import resource, sys; from pathlib import Path\n"
        "from logbook_writer import event, facts\n"
        "from logbook_samples import begin, stamp\n"
        "from callout.logbook.errors import LogbookError\n"
        "from callout.logbook.store import Logbook\n"
        "with Logbook.open(Path(sys.argv[1])) as logbook:\n"
        "    session, n = begin(logbook), 0\n"
        "    free = resource.getrlimit(resource.RLIMIT_FSIZE)\n"
        "    resource.setrlimit(resource.RLIMIT_FSIZE, (450_000, free[1]))\n"
        "    try:\n"
        "        while True:\n"
        "            logbook.append(session, event(n), facts(n), stamp())\n"
        "            n += 1\n"
        "    except LogbookError as error:\n"
        "        print(error)\n"
        "    resource.setrlimit(resource.RLIMIT_FSIZE, free)\n"
        "    logbook.append(session, event(n), facts(n), stamp())\n"
        "print(n + 1)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path / "logbook.db")],
        cwd=WRITER.parent, capture_output=True, text=True, check=True,
    )  # fmt: skip
    sentence, kept = done.stdout.splitlines()

    assert "The disk did not do what the logbook" in sentence
    assert "What was written before is kept." in sentence
    with Logbook.open(tmp_path / "logbook.db") as logbook:
        assert int(kept) == numbers_kept(logbook) > 5


def test_logbook_kill_stopped_writer_keeps_the_others_out_until_it_dies(tmp_path):
    """SIGSTOP holds the lock, SIGKILL gives it up: the system keeps it, not the file."""
    path = tmp_path / "logbook.db"
    with subprocess.Popen(
        [sys.executable, str(WRITER), str(path)], stdout=subprocess.PIPE
    ) as child:
        child.stdout.readline()
        child.send_signal(signal.SIGSTOP)
        with pytest.raises(LogbookError) as refused:
            Logbook.open(path)
        with Logbook.read(path) as logbook:
            assert numbers_kept(logbook) >= 1
        child.kill()
    with Logbook.open(path) as logbook:
        assert numbers_kept(logbook) >= 1

    assert f"in use by another callout (process {child.pid})" in str(refused.value)
