"""What befalls a logbook in mid-session: the list goes on, the pilot is told, nothing is lost.

The program itself, with typed answers; kills and torn logs are in tests/logbook, file by file.

  disk full            the list goes on, unrecorded, and says so (test_conductor.py)
  locked by another    the same, after two seconds
  torn last page       what the log beside the file still has is whole
  damaged file         refused with what to do; repaired; the session is there to read
  read-only            refused before the first word (tests/logbook/test_logbook_files.py)
"""

from __future__ import annotations

import random
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner
from test_taking_up import NAMES, Program, aircraft, facts

from callout.cli.main import main
from callout.logbook.errors import DamagedError
from callout.logbook.salvage import Pages
from callout.logbook.store import Logbook

TOLD = "Logbook lost. Nothing is recorded from now on."


def answer(program: Program, names: tuple[str, ...]) -> None:
    for name in names:
        program.read_until(f"{name} lever?".capitalize())
        program.type(f"{name} closed")


def test_the_list_goes_on_without_a_logbook_that_another_holds_and_says_so(tmp_path: Path):
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    program = Program(file, logbook)
    answer(program, NAMES[:3])
    program.read_until("Delta lever?")
    with closing(sqlite3.connect(logbook, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        program.type("delta closed")
        assert "is locked by another program" in program.read_until(TOLD)
        answer(program, NAMES[4:])
        program.read_until("Session ended.")
        assert 0 == program.close()
    assert [f"before-start/{name}" for name in NAMES[:3]] == facts(logbook, "ticked")
    with Logbook.open(logbook) as again:
        assert again.unfinished() is not None


def test_a_page_torn_while_the_log_is_written_back_is_whole_again(tmp_path: Path):
    """A power cut in a checkpoint: SQLite keeps the log until the file is on the disk."""
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    program = Program(file, logbook)
    answer(program, NAMES[:4])
    program.read_until("Echo lever?")
    program.kill()
    pages = Pages(logbook)
    in_log = sorted(pages._over)
    pages.close()
    assert len(in_log) > 3
    chance = random.Random(11)
    with logbook.open("r+b") as disk:
        for page in in_log:
            torn = chance.randrange(4096)
            disk.seek((page - 1) * 4096 + torn)
            disk.write(chance.randbytes(4096 - torn))
    again = Program(file, logbook)
    again.read_until("Say resume.")
    again.type("resume")
    answer(again, NAMES[4:])
    again.read_until("Session ended.")
    assert 0 == again.close()
    assert [f"before-start/{name}" for name in NAMES] == facts(logbook, "ticked")


def test_a_damaged_logbook_is_refused_with_what_to_do_and_what_it_held_is_recovered(
    tmp_path: Path,
):
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    program = Program(file, logbook)
    answer(program, NAMES)
    program.read_until("Session ended.")
    assert 0 == program.close()
    shutil.copy(logbook, tmp_path / "whole.db")
    with logbook.open("r+b") as disk:
        disk.seek(-4096, 2)  # the last page is torn, and so is one in the middle
        disk.truncate()
        disk.seek(-4096 * 4, 2)
        disk.write(bytes(1000))
    told = subprocess.run(
        [sys.executable, "-m", "callout", "run", str(file), "--ear", "keys", "--speak", "none",
         "--logbook", str(logbook)],
        capture_output=True, text=True, stdin=subprocess.DEVNULL, check=False,
    )  # fmt: skip
    assert 2 == told.returncode
    assert "is damaged" in told.stderr
    assert f"callout log repair {logbook} --to NEW.db" in told.stderr
    with pytest.raises(DamagedError):
        Logbook.read(logbook)
    done = CliRunner().invoke(
        main, ["log", "repair", str(logbook), "--to", str(tmp_path / "new.db")]
    )
    assert done.exit_code in (0, 1)
    assert done.stdout.startswith("Recovered: ")
    with Logbook.read(tmp_path / "new.db") as new, Logbook.read(tmp_path / "whole.db") as whole:
        wanted = [(e.seq, e.data) for e in whole.entries(1)]
        found = [(e.seq, e.data) for e in new.entries(1) if e.data != "{}"]
        assert set(found) <= set(wanted)
        assert len(found) > len(wanted) / 4
