"""The page in a real browser: nothing is wider than the screen it is read on.

Debian's chromium lays it out, and the page itself is asked.
"""

from __future__ import annotations

import subprocess

import pytest
from click.testing import CliRunner
from report_rig import a_day, fact, heard, write

from callout.cli.main import main

FRAME = """<!doctype html><script>
onload = () => {{
  const page = document.querySelector("iframe").contentDocument.documentElement;
  document.title = page.scrollWidth + " of " + page.clientWidth;
}}
</script><iframe src="page.html" style="width:{0}px; height:800px; border:0"></iframe>
"""


@pytest.mark.parametrize("width", [320, 1280])
def test_a_report_is_read_without_scrolling_sideways(tmp_path, width):
    """Also where a word has no place to break."""
    long = heard("walk-round/fuel-cap", 31.0, 33.0, answer="x" * 200, words="y" * 90)
    steps = sorted([*a_day(), *long], key=lambda step: step[0])
    said = (41.0, steps[0][1], [fact("not understood", "walk-round/fuel-cap", guess="z" * 120)])
    write(tmp_path / "log.db", [*steps[:1], *sorted([*steps[1:], said], key=lambda one: one[0])])
    words = ["report", "1", "--logbook", str(tmp_path / "log.db"), "--out",
             str(tmp_path / "page.html")]  # fmt: skip
    assert 0 == CliRunner().invoke(main, words).exit_code
    (tmp_path / "frame.html").write_text(FRAME.format(width))
    done = subprocess.run(
        ["chromium", "--headless=new", "--no-sandbox", "--disable-gpu",
         "--disable-dev-shm-usage",  # which is 64 MB in many a container
         "--allow-file-access-from-files", f"--user-data-dir={tmp_path / 'browser'}",
         "--virtual-time-budget=3000", "--dump-dom", str(tmp_path / "frame.html")],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    title = done.stdout.partition("<title>")[2].partition("</title>")[0]
    wide, _, shown = title.partition(" of ")
    assert 0 < int(wide) <= int(shown)
