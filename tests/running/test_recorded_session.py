"""The whole chain on real sound, in recording time: file, ear, engine, voice, logbook."""

from __future__ import annotations

import json
import math
import os
import random
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import dataclass
from itertools import takewhile
from pathlib import Path

import numpy as np
import pytest
import soundfile
from cut_off import need_namespaces, run_cut_off

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "checklists" / "reedlark.yaml"
RECORDING = ROOT / "tests" / "session" / "flying-day.opus"

pytestmark = pytest.mark.timeout(1800)  # half a minute of computing, and what else is busy

KILLS = int(os.environ.get("CALLOUT_KILLS", "6"))
"""How often it is killed."""
KILLED = math.inf if "CALLOUT_KILLS" in os.environ else 300.0
"""Seconds of the day in which it is killed: up to the end of its start, or, where the number is
given by hand, all of it; CALLOUT_KILLS=100 takes ten times as long."""
LISTS = 10

CUT = 150.0
"""Seconds of the day that are played a second time, without a network."""

UNSURE = 10.0
"""Seconds before the end of a cut recording in which something may be missing: a word, or
the sentence that it would have been answered by."""


@dataclass(frozen=True)
class Files:
    """Where one run writes."""

    folder: Path
    recording: Path = RECORDING

    @property
    def logbook(self) -> Path:
        return self.folder / "log.db"

    @property
    def spoken(self) -> Path:
        return self.folder / "spoken.wav"

    def command(self) -> list[str]:
        return [
            *(sys.executable, "-m", "callout", "run", str(EXAMPLE)),
            *("--ear", "built-in", "--clock", "recording"),
            *("--listen", str(self.recording), "--speak", str(self.spoken)),
            *("--logbook", str(self.logbook)),
        ]

    def entries(self) -> list[tuple[object, ...]]:
        with closing(sqlite3.connect(self.logbook)) as base:
            return base.execute(
                "SELECT seq, now, wall, kind, name, about, data FROM entries ORDER BY seq"
            ).fetchall()

    def facts(self, name: str) -> list[str]:
        return [str(row[5]) for row in self.entries() if row[3] == "fact" and row[4] == name]


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> tuple[Files, str]:
    """One undisturbed run, and its transcript."""
    files = Files(tmp_path_factory.mktemp("day"))
    done = subprocess.run(files.command(), capture_output=True, text=True, timeout=900, check=False)
    assert (0, "") == (done.returncode, done.stderr)
    return files, done.stdout


def test_the_flying_day_ends_with_every_list_complete(day: tuple[Files, str]):
    files, transcript = day

    assert LISTS == len(files.facts("list complete"))
    assert [] == files.facts("list not complete")
    assert "Post flight checklist complete." in transcript
    assert transcript.index("invented") < transcript.index("Walk round")


def test_every_item_is_ticked_once(day: tuple[Files, str]):
    """But for those that were reopened: none is in this recording."""
    files, _ = day
    ticked = files.facts("ticked")

    assert sorted(set(ticked)) == sorted(ticked)


def test_what_must_not_tick_did_not(day: tuple[Files, str]):
    """A wrong answer, "checked" for a value, a value out of range, talk beside the list."""
    files, _ = day

    assert "walk-round/fuel-lever" in files.facts("wrong answer")
    assert "walk-round/fuel-by-the-dipstick" in files.facts("wrong answer")
    assert "walk-round/fuel-by-the-dipstick" in files.facts("out of range")
    assert "before-start/battery-voltage" in files.facts("out of range")
    assert "walk-round/cowling" in files.facts("not understood")
    assert 1 == files.facts("ticked").count("walk-round/cowling")


def test_the_spoken_side_is_as_long_as_the_session(day: tuple[Files, str]):
    files, _ = day
    last = float(str(files.entries()[-1][1]))

    assert soundfile.info(files.spoken).duration >= last - 1.0


def test_the_same_recording_gives_the_same_log_without_any_network(
    day: tuple[Files, str], tmp_path: Path
):
    """Nothing that a session does, to the last sample, needs a network, or looks for one."""
    need_namespaces()
    files, _ = day
    again = Files(tmp_path, beginning(tmp_path, CUT))
    _, tries = run_cut_off(again.command(), str(tmp_path / "counted"))

    until = CUT - UNSURE
    entries = [row for row in files.entries() if float(str(row[1])) < until]
    assert 0 == tries
    assert len(entries) > 50
    assert entries == again.entries()[: len(entries)]
    said, rate = soundfile.read(files.spoken, dtype="int16")
    once_more, _ = soundfile.read(again.spoken, dtype="int16")
    assert np.array_equal(said[: round(until * rate)], once_more[: round(until * rate)])


def beginning(folder: Path, seconds: float) -> Path:
    """The first of the day's sound, as a file of its own."""
    sound, rate = soundfile.read(RECORDING, dtype="float32")
    path = folder / "beginning.wav"
    soundfile.write(path, sound[: round(seconds * rate)], rate, subtype="FLOAT")
    return path


def test_killed_at_many_random_moments_nothing_is_lost_or_invented(
    day: tuple[Files, str], tmp_path: Path
):
    """SIGKILL whenever a random number of further entries is in the log, then the same command.

    The moment is random in time as well: the killer looks at the file only now and then,
    whatever the program is doing then.
    """
    whole, _ = day
    files = Files(tmp_path, RECORDING if KILLED == math.inf else beginning(tmp_path, KILLED))
    until = KILLED - UNSURE
    wanted = sum(float(str(row[1])) < until for row in whole.entries())
    rng = random.Random(20)
    moments = sorted(rng.sample(range(2, wanted - 2), KILLS))
    # On a busy machine it may be done before it is killed; the same command would begin anew.
    kills = sum(1 for _ in takewhile(lambda moment: _killed_at(files, moment), moments))
    if kills == KILLS:
        done = subprocess.run(
            files.command(), capture_output=True, text=True, timeout=900, check=False
        )
        assert (0, "") == (done.returncode, done.stderr)

    assert kills > KILLS / 2
    told = _told(whole, until)
    assert len(told) > 60
    assert told == _told(files)[: len(told)]
    assert files.facts("ticked") == sorted(
        set(files.facts("ticked")), key=files.facts("ticked").index
    )


def _killed_at(files: Files, count: int) -> bool:
    """Run until the log holds `count` entries, then kill; False if it was done before."""
    process = subprocess.Popen(
        files.command(), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        while process.poll() is None:
            if _count(files.logbook, "entries") >= count:
                process.send_signal(signal.SIGKILL)
                process.wait(120)
                return not _count(files.logbook, "ends")
            try:
                process.wait(0.02)
            except subprocess.TimeoutExpired:
                continue
    finally:
        process.kill()
        process.wait(120)
    return False


def _count(logbook: Path, table: str) -> int:
    """How many rows a reader sees while another program writes."""
    if not logbook.exists():
        return 0
    try:
        with closing(sqlite3.connect(f"file:{logbook}?mode=ro", uri=True)) as base:
            return int(base.execute(f"SELECT count(*) FROM {table}").fetchone()[0])
    except sqlite3.OperationalError:
        return 0


def _told(files: Files, until: float = math.inf) -> list[tuple[object, ...]]:
    """What was decided before that second, in order.

    How sure the ear was, and the moment to the hundredth, may differ: after a
    kill it hears only the last seconds before the point of taking up. What was
    not understood decides nothing; the end of a word that was still sounding at
    the kill is not heard a second time.
    """
    told = []
    for _, now, _, kind, name, about, data in files.entries():
        if kind == "fact" and name != "not understood" and float(str(now)) < until:
            told.append((name, about, dict(json.loads(str(data))["data"]).get("answer")))
    return told
