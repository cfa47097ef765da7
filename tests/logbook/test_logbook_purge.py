"""Recordings that are purged are gone from the file, byte for byte; the record stays.

What a deleted row leaves behind, and what VACUUM and a truncating checkpoint do
about it: sqlite.org/lang_vacuum.html, sqlite.org/pragma.html#pragma_wal_checkpoint.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from callout.audio_block import AudioBlock
from callout.cli.main import main
from callout.engine.effects import Record
from callout.engine.events import Clock, SessionOpened
from callout.logbook.clip_sound import FLAC, OPUS, Piece, piece
from callout.logbook.purging import purge as purge_
from callout.logbook.purging import recordings
from callout.logbook.squawks import SESSION, keep, squawks
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook


def stamp(now: float, day: int = 1) -> Stamp:
    return Stamp(now, f"2021-05-{day:02d}T09:30:{now:06.3f}Z", now, "boot")


def sound(form: str, seed: int, began: float = 2.0) -> Piece:
    samples = np.random.default_rng(seed).normal(0, 0.1, 16_000).astype(np.float32)
    return piece(form, AudioBlock(samples, 16_000, began))


PIECES = {
    (1, "1"): [sound(FLAC, 1), sound(FLAC, 2, 3.0)],
    (1, SESSION): [sound(OPUS, 3)],
    (2, "1"): [sound(FLAC, 4)],
}


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Two sessions with a squawk each, one of them recorded whole."""
    path = tmp_path / "log.db"
    with Logbook.open(path) as logbook:
        for day in (1, 20):
            number = logbook.begin("Rig", "1", "rig.yaml", "f", stamp(0.0, day))
            logbook.append(number, SessionOpened(), [Record("session opened")], stamp(0.0, day))
            data = (("called", "Cap"), ("squawk", "1"), ("where", "nose"))
            logbook.append(number, Clock(), [Record("squawk opened", "w/c", data)], stamp(1, day))
            kept = (("began", "2.00"), ("how", "said"), ("squawk", "1"), ("until", "9.00"))
            logbook.append(number, Clock(), [Record("squawk kept", "w/c", kept)], stamp(9, day))
            for (session, name), pieces in PIECES.items():
                if session == number:
                    keep(logbook, session, name, pieces, stamp(9.0, day))
            logbook.finish(number, "ended", stamp(10.0, day))
    return path


def purge(log: Path, *words: str, keyboard: str = "") -> Result:
    command = ["log", "purge", "--logbook", str(log), *words]
    return CliRunner().invoke(main, command, input=keyboard)


def in_file(log: Path, session: int, name: str) -> bool:
    """Whether any stretch of the recording's bytes is in the file, or in one beside it."""
    stored = b"".join(path.read_bytes() for path in log.parent.glob(f"{log.name}*"))
    whole = [one.sound for one in PIECES[session, name]]
    stretches = [one[at : at + 64] for one in whole for at in range(0, len(one) - 64, 512)]
    stretches = [one for one in stretches if len(set(one)) > 40]  # sound, not zeros of a head
    assert len(stretches) > 3
    return any(stretch in stored for stretch in stretches)


def record(log: Path) -> list[object]:
    with Logbook.read(log) as logbook:
        return [*logbook.sessions(), *logbook.entries(1), *logbook.entries(2)]


def test_the_bytes_are_there_before(log: Path):
    assert all(in_file(log, *key) for key in PIECES)


def test_purging_all_leaves_no_byte_of_any_recording_and_the_whole_record(log: Path):
    before, size = record(log), log.stat().st_size
    done = purge(log, "--all", "--yes", "--who", "Ann")

    assert 0 == done.exit_code, done.output
    assert "Removed the recordings of 2 squawks and 1 whole session, 4.0 s" in done.output
    assert not any(in_file(log, *key) for key in PIECES)
    assert before == record(log)
    assert log.stat().st_size < size
    with Logbook.read(log) as logbook:
        assert [] == recordings(logbook)
        first = squawks(logbook)[0]
    assert (0.0, True) == (first.seconds, first.removed)
    assert ("recording removed", "Ann") == (first.history[-1].what, first.history[-1].who)


def test_a_sqlite_that_leaves_deleted_bytes_in_the_file_leaves_none_after_a_purge(log: Path):
    """Builds differ in secure_delete (sqlite.org/pragma.html): without it a DELETE leaves them."""
    with Logbook.open(log) as logbook:
        list(logbook.select("PRAGMA secure_delete = OFF"))
        with logbook.writing():
            logbook.erase("DELETE FROM clips WHERE session = 1 RETURNING piece")
        assert in_file(log, 1, "1")
        purge_(logbook, recordings(logbook), "Ann", stamp(20.0))
        assert not any(in_file(log, *key) for key in PIECES)

    assert not any(in_file(log, *key) for key in PIECES)


def test_those_of_one_session_or_older_than_a_day_are_removed_and_no_other(log: Path):
    assert 0 == purge(log, "--session", "2", "--yes").exit_code
    assert [True, True, False] == [in_file(log, *key) for key in PIECES]
    assert 0 == purge(log, "--before", "2021-05-20", "--yes").exit_code
    assert [False, False, False] == [in_file(log, *key) for key in PIECES]
    assert "nothing was removed" in purge(log, "--all").output


def test_it_asks_and_a_no_removes_nothing(log: Path):
    done = purge(log, "--all", keyboard="n\n")

    assert (1, True) == (done.exit_code, in_file(log, 1, "1"))


@pytest.mark.parametrize("words", [(), ("--all", "--session", "1"), ("--before", "yesterday")])
def test_it_wants_to_be_told_which(log: Path, words: tuple[str, ...]):
    assert 2 == purge(log, *words, "--yes").exit_code


def test_a_session_that_is_not_there_is_a_sentence(log: Path):
    done = purge(log, "--session", "7", "--yes")

    assert 2 == done.exit_code
    assert "holds no session 7" in done.output
