"""A test that fails in the middle and passes on its second try: the run is then a good one."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

FAILS_ONCE = """
import socket, subprocess, sys, threading
from pathlib import Path

TRIED = Path(__file__).with_name("tried")
WAITING = "print('here', flush=True); import time; time.sleep(600)"


def test_fails_once():
    if TRIED.exists():
        return
    pipe = subprocess.PIPE
    read = subprocess.Popen([sys.executable, "-c", WAITING], stdout=pipe, stdin=pipe, text=True)
    reader = threading.Thread(target=lambda: list(read.stdout), daemon=True)
    reader.start()
    unread = subprocess.Popen([sys.executable, "-c", WAITING], stdout=pipe, stdin=pipe, text=True)
    unread.stdin.write("not yet sent")
    listening = socket.create_server(("127.0.0.1", 0))
    TRIED.write_text(f"{read.pid} {unread.pid} {listening.getsockname()[1]}")
    try:
        raise OSError("the cause")
    except OSError as cause:
        raise AssertionError from cause
"""


def test_what_a_first_try_left_open_neither_runs_on_nor_fails_the_run(tmp_path: Path) -> None:
    """Two programs, one read by a thread, and a socket, in a pytest that takes warnings for errors.

    Without the two hooks it ends with status 1 for what was not closed.
    """
    (tmp_path / "test_once.py").write_text(FAILS_ONCE, encoding="utf-8")
    told = ["-p", "left_behind", "--reruns", "1", "-W", "error", "-p", "no:cacheprovider"]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", *told, "test_once.py"],
        cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(Path(__file__).parent)},
        capture_output=True, text=True, timeout=200, check=False,
    )  # fmt: skip

    assert 0 == done.returncode, done.stdout + done.stderr
    assert "1 passed, 1 rerun" in done.stdout
    *programs, _ = map(int, (tmp_path / "tried").read_text(encoding="utf-8").split())
    assert [False, False] == [Path(f"/proc/{pid}/cmdline").exists() for pid in programs]
