"""`callout log` as a person uses it."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest
from click.testing import CliRunner
from logbook_samples import begin, stamp, written

from callout.cli.main import main
from callout.engine.effects import Record
from callout.engine.events import Heard, Key, KeyMeaning, SpeechEnded
from callout.logbook.export import csv_lines, json_lines
from callout.logbook.places import default_logbook
from callout.logbook.store import Logbook


@pytest.fixture
def path(tmp_path):
    written(tmp_path / "logbook.db")
    with Logbook.open(tmp_path / "logbook.db") as logbook:
        logbook.finish(1, "complete", stamp(60))
        begin(logbook)
    return tmp_path / "logbook.db"


def log(*words, path=None):
    """Run the command with a terminal of 120 columns."""
    where = [] if path is None else ["--logbook", str(path)]
    return CliRunner(env={"COLUMNS": "120"}).invoke(main, ["log", *words, *where])


def test_logbook_cli_lists_sessions_with_how_they_ended(path):
    done = log(path=path)

    assert 0 == done.exit_code
    assert [
        ["session", "began (UTC)", "aircraft", "revision", "ticks", "ended"],
        ["1", "2031-05-04 09:00:00", "Invented helicopter", "1", "2", "complete at 09:01:00"],
        ["2", "2031-05-04 09:00:00", "Invented helicopter", "1", "0", "not ended"],
    ] == [[cell for cell in map(str.strip, row.split("  ")) if cell] for row in lines(done)]


def lines(done):
    return [line.rstrip() for line in done.stdout.splitlines()]


def test_logbook_cli_shows_a_session_as_a_readable_table(path):
    done = log("1", path=path)

    assert 0 == done.exit_code
    assert [
        "Session 1: Invented helicopter, revision 1, from invented.yaml",
        "Began 2031-05-04 09:00:00 UTC; complete at 09:01:00.",
        "  time  UTC       what             about                 details",
        "0:00.5  09:00:00  session opened                         lists: before-start",
        "0:00.5  09:00:00  - list opened    before-start",
        f"0:01.5  09:00:01  heard{' ' * 34}text: battery on; certainty: 0.93; source: keys",
        "0:01.5  09:00:01  - ticked         before-start/battery  answer: on; who: pilot",
        "0:03.5  09:00:03  reading                                gauge: volts; value: 24.50",
        "0:03.5  09:00:03  - ticked         before-start/voltage  answer: 24.50",
        "0:03.5  09:00:03  - list complete  before-start",
        "Not shown: 1 of clock and voice; `callout log export` gives everything.",
    ] == lines(done)


def test_logbook_cli_shows_a_key_by_its_meaning_and_where_it_was_pressed(tmp_path):
    path = tmp_path / "log.db"
    with Logbook.open(path) as logbook:
        number = begin(logbook)
        key = Key(KeyMeaning.SAY_AGAIN, 1.0, "pagedown of a pedal")
        logbook.append(number, key, [], stamp(1.0))

    assert "means: say again; source: pagedown of a pedal" in log("1", path=path).stdout


def test_logbook_cli_lets_no_recorded_text_rule_the_terminal(tmp_path):
    """Neither rich's markup nor a terminal's escape codes."""
    with Logbook.open(tmp_path / "logbook.db") as logbook:
        session = begin(logbook)
        said = Heard("[red]on[/red]\x1b[2J\n\ud800", 1.0, 1, 0.0, 1.0)
        logbook.append(session, said, [Record("[b]x", "a/[i]", (("\x07", "[/]"),))], stamp())
        logbook.append(session, SpeechEnded(1), [], stamp())
    done = log("1", path=tmp_path / "logbook.db")

    assert 0 == done.exit_code
    assert r"text: [red]on[/red]\x1b[2J\n\ud800; certainty: 1.00" in done.stdout
    assert r"- [b]x" in done.stdout
    assert r"\x07: [/]" in done.stdout
    assert "\x1b" not in done.stdout


@pytest.mark.parametrize(("form", "lines_of"), [("jsonl", json_lines), ("csv", csv_lines)])
def test_logbook_cli_exports_one_session_or_all_byte_for_byte(path, tmp_path, form, lines_of):
    with Logbook.read(path) as logbook:
        one = "".join(lines_of(logbook, [1])).encode()
        everything = "".join(lines_of(logbook, [1, 2])).encode()
    done = log("export", "--form", form, "--to", str(tmp_path / "all"), path=path)

    assert one == log("export", "1", "--form", form, path=path).stdout_bytes
    assert everything == log("export", "--form", form, path=path).stdout_bytes
    assert everything == (tmp_path / "all").read_bytes()
    assert f"Wrote 2 sessions to {tmp_path / 'all'}.\n" == done.stdout


def test_logbook_cli_overwrites_nothing(path, tmp_path):
    kept = tmp_path / "kept.csv"
    kept.write_text("mine")
    for to, sentence in (
        (kept, f"Error: {kept} is there already. Give the name of a new file.\n"),
        (path, f"Error: {path} is there already. Give the name of a new file.\n"),
        (tmp_path / "no" / "x", f"Error: {tmp_path / 'no' / 'x'} cannot be written: No such file"),
        ("/dev/full/x", "Error: /dev/full/x cannot be written: Not a directory.\n"),
    ):
        done = log("export", "--form", "csv", "--to", str(to), path=path)
        assert 2 == done.exit_code
        assert done.stderr.startswith(sentence)
    assert "mine" == kept.read_text()


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["7"], "holds no session 7."),
        (["0"], "'0' is no session's number; `callout log` lists them."),
        (["1" + "0" * 30], "is no session's number"),
        (["first"], "'first' is no session's number"),
        (["export", "--form", "xml"], "'xml' is not one of 'jsonl', 'csv'."),
    ],
)
def test_logbook_cli_says_what_is_wrong_with_the_words_given(path, words, sentence):
    done = log(*words, path=path)

    assert 2 == done.exit_code
    assert sentence in done.stderr
    assert "" == done.stdout


def test_logbook_cli_says_what_is_wrong_with_the_file(tmp_path):
    (tmp_path / "notes.txt").write_text("battery on")
    for path, sentence in (
        (tmp_path / "none.db", "There is no logbook at"),
        (tmp_path / "notes.txt", "notes.txt is not a callout logbook: it is no SQLite file."),
        (tmp_path, "is no file (a folder or a device)"),
    ):
        done = log(path=path)
        assert 2 == done.exit_code
        assert sentence in done.stderr
        assert "Traceback" not in done.stderr


def test_logbook_cli_says_that_nothing_was_recorded_yet(tmp_path):
    Logbook.open(tmp_path / "logbook.db").close()
    done = log(path=tmp_path / "logbook.db")

    assert f"No session was recorded yet in {tmp_path / 'logbook.db'}.\n" == done.stdout
    assert "" == log("export", path=tmp_path / "logbook.db").stdout


def test_logbook_cli_program_reads_the_persons_own_logbook_in_a_pipe(tmp_path):
    """The real program, its default place, and a reader that hangs up early."""
    env = os.environ | {"XDG_DATA_HOME": str(tmp_path), "HOME": str(tmp_path)}
    callout = [sys.executable, "-c", "from callout.cli.main import main; main()", "log"]
    where = subprocess.run(
        [sys.executable, "-c", "from callout.logbook.places import *; print(default_logbook())"],
        env=env, capture_output=True, text=True, check=True,
    ).stdout.strip()  # fmt: skip
    assert where.startswith(str(tmp_path))
    assert where != str(default_logbook())
    with Logbook.open(type(tmp_path)(where)) as logbook:
        session = begin(logbook)
        for n in range(300):
            logbook.append(session, Heard("word " * 60, 1.0, n, 0.0, 1.0), [], stamp())

    whole = subprocess.run([*callout, "export"], env=env, capture_output=True, check=True)
    assert 301 == len([json.loads(line) for line in whole.stdout.splitlines()])
    with subprocess.Popen(
        [*callout, "export"], env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as child:
        child.stdout.readline()
        child.stdout.close()
        assert b"" == child.stderr.read()
