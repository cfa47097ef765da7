"""`callout log purge` with a server: both sides are reached, and what is not is said."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from callout.audio_block import AudioBlock
from callout.cli.main import main
from callout.engine.events import SessionOpened
from callout.logbook.clip_sound import FLAC, piece
from callout.logbook.places import Place, Server
from callout.logbook.purging import recordings
from callout.logbook.squawks import keep
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook
from callout.running.sharing import deliver, own_file


def stamp(now: float) -> Stamp:
    return Stamp(now, f"2031-05-04T09:30:{now:06.3f}Z", now, "boot")


def flown(file: Path, server: Server, revision: str) -> None:
    """A session with a squawk's recording, in a machine's file and on the server."""
    noise = np.random.default_rng(1).normal(0, 0.1, 16_000).astype(np.float32)
    with Logbook.open(file) as logbook:
        number = logbook.begin("Rig", revision, "rig.yaml", "f", stamp(0.0))
        logbook.append(number, SessionOpened(), (), stamp(0.0))
        keep(logbook, number, "1", [piece(FLAC, AudioBlock(noise, 16_000, 1.0))], stamp(2.0))
        logbook.finish(number, "ended", stamp(3.0))
    deliver(file, server)


def held(place: Place) -> list[int]:
    with Logbook.read(place) as logbook:
        return [one.session for one in recordings(logbook)]


def purge(place: str, *words: str) -> str:
    done = CliRunner().invoke(main, ["log", "purge", "--yes", "--logbook", place, *words])
    assert 0 == done.exit_code, done.output
    return done.stdout


@pytest.fixture
def mine(tmp_path: Path, monkeypatch, database: Server) -> Path:
    """Another machine's session is 1 on the server; this machine's 1 and 2 are 2 and 3 there."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    flown(tmp_path / "other.db", database, "1")
    flown(own_file(database), database, "2")
    flown(own_file(database), database, "3")
    return own_file(database)


def test_the_server_and_this_machine_s_file_are_reached_and_other_machines_are_named(
    tmp_path: Path, mine: Path, database: Server
):
    assert ([1, 2, 3], [1, 2]) == (held(database), held(mine))
    told = purge(database.url, "--session", "2")

    assert ([1, 3], [2]) == (held(database), held(mine))
    assert "1 squawk and 0 whole sessions, 1.0 s" in told
    assert "in the file of this machine and 1 squawk" in told
    purge(database.url, "--all")
    assert ([], [], [1]) == (held(database), held(mine), held(tmp_path / "other.db"))
    assert "Other machines that wrote to this server keep their own copies" in told


def test_what_is_removed_from_the_file_alone_is_said_to_be_on_the_server_still(
    mine: Path, database: Server
):
    told = purge(str(mine), "--all")

    assert ([1, 2, 3], []) == (held(database), held(mine))
    assert "This file is delivered to a server, which keeps its own copy: purge there" in told
