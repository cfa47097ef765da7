"""What is typed wrong at a command: a sentence that says so, status 2, and nothing left behind."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from callout.cli.main import main
from callout.logbook.store import Logbook

PLANE = """\
callout: 1
aircraft: {name: Testbed, revision: "1", written_by: us, limits_from: {handbook: none}}
lists:
  walk: {title: walk, items: [{call: cap, answer: closed}]}
"""

KEYS = ["run", "plane.yaml", "--ear", "keys", "--listen", "none", "--speak", "none"]
ANSWERED = ["--engine", "turbine", "--turns", "rotor", "--people", "alone", "--power", "own"]
ANSWERED += ["--name", "x", "--author", "me", "--handbook", "h", "--issue", "1"]
HOW = ["--how", "x", "--logbook", "none.db"]
BY = ["--who", "me", *HOW]
RECORDED = ["run", "plane.yaml", "--clock", "recording", "--logbook", "run.db", "--speak", "none"]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["log", "purge", "--all", "--yes", "--logbook", "none.db"], "There is no logbook at"),
        (["coverage", "plane.yaml", "--logbook", "none.db"], "There is no logbook at"),
        (
            ["squawk", "close", "1.1", "--how", "x", "--who", "me", "--logbook", "none.db"],
            "There is no logbook at",
        ),
        (["log", "import", "none.jsonl", "--logbook", "none.db"], "There is no file none.jsonl"),
        (["log", "import", "plane.yaml", "--logbook", "none.db"], "plane.yaml:1: it is no JSON"),
        (["log", "0"], "'0' is no session's number; `callout log` lists them."),
        (["report", "first"], "'first' is no session's number"),
        (["plot", "9" * 30], f"'{'9' * 30}' is no session's number"),
        (["log", "export", "9" * 5000], "is no session's number"),
        ([*RECORDED, "--listen", "none.wav"], "There is no recording at none.wav."),
        ([*RECORDED, "--listen", "folder"], "There is no recording at folder."),
        ([*RECORDED, "--listen", "plane.yaml"], "plane.yaml is not a recording"),
        (
            [*KEYS, "--logbook", "run.db", "--moments", "no/marks"],
            "--moments no/marks cannot be written: No such file or directory.",
        ),
        ([*KEYS, "--logbook", "run.db", "--moments", "plane.yaml"], "plane.yaml is there already"),
        (["enrol", "me", "--words", "--aircraft", "empty"], "empty:1:1: the file is empty"),
        ([*RECORDED, "--listen", "rec.wav", "--speak", "rec.wav"], "rec.wav is the recording"),
        (["print", "plane.yaml", "--out", "plane.yaml"], "plane.yaml is there already and is no"),
        (["preview", "plane.yaml", "--paper", "plane.yaml"], "plane.yaml is there already"),
        (["new", "no/x.yaml", *ANSWERED], "no/x.yaml cannot be written: No such file"),
        (["print", "plane.yaml", "--out", "folder"], "folder cannot be written: Is a directory."),
        (
            ["preview", "plane.yaml", "--to", "no/x.wav"],
            "Cannot write sound to no/x.wav: No such file or directory",
        ),
        (["due", "done", "plane.yaml", "oil", "--who", " ", *HOW], "--who is empty"),
        (["due", "done", "plane.yaml", "oil", *BY], "no due item 'oil' in this file"),
        (["due", "enter", "plane.yaml", "oil", "3", *BY], "no due item 'oil' in this file"),
    ],
)
def test_it_is_told_and_nothing_is_made(words, sentence, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("plane.yaml").write_text(PLANE)
    Path("empty").touch()
    Path("rec.wav").touch()
    Path("folder").mkdir()
    there = {one: one.read_bytes() for one in Path().iterdir() if one.is_file()}

    done = CliRunner().invoke(main, words)

    assert (2, SystemExit) == (done.exit_code, type(done.exception)), done.exception
    assert sentence in done.stderr
    left = {one: one.read_bytes() for one in Path().iterdir() if one.is_file()}
    assert there == {one: what for one, what in left.items() if not one.name.startswith("run.db")}
    if Path("run.db").exists():  # a run makes its logbook, and begins no session in it
        with Logbook.read(Path("run.db")) as logbook:
            assert 0 == logbook.how_many()
