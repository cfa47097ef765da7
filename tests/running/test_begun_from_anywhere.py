"""The aircraft's file is written down so that it is found from any folder."""

from __future__ import annotations

import subprocess
import sys

from click.testing import CliRunner
from squawk_rig import aircraft

from callout.cli.main import main
from callout.logbook.store import Logbook


def test_a_session_that_was_begun_by_a_relative_name_is_reported_on_from_elsewhere(
    tmp_path, monkeypatch
):
    hangar, office = tmp_path / "hangar", tmp_path / "office"
    hangar.mkdir()
    office.mkdir()
    file = aircraft(hangar)
    subprocess.run(
        [sys.executable, "-m", "callout", "run", file.name, "walk-round", "--ear", "keys",
         "--speak", "none", "--logbook", "log.db"],
        cwd=hangar, input="closed\n", capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip
    with Logbook.read(hangar / "log.db") as logbook:
        assert str(file) == logbook.session(1).file
    monkeypatch.chdir(office)
    words = ["report", "1", "--logbook", str(hangar / "log.db"), "--out", "page.html"]
    done = CliRunner().invoke(main, words)

    assert 0 == done.exit_code, done.output
    page = (office / "page.html").read_text(encoding="utf-8")
    assert "Session 1: Test rig" in page
    assert "cannot be read any more" not in page
