"""callout uses no network: what its libraries would send of themselves is switched off.

That a whole day is played without one stands in test_recorded_session.py.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from cut_off import need_namespaces, run_cut_off

LOOKS = """
import socket
try:
    socket.create_connection(("198.51.100.1", 80), timeout=5)  # TEST-NET-2, RFC 5737
except OSError as error:
    print(error)
"""

PROGRAM = """
import callout
import onnxruntime
from callout.ear.built_in.place import model_folder
onnxruntime.InferenceSession(str(model_folder() / "ear.onnx"))
"""


def left_behind(home: Path) -> list[str]:
    """Files that opening the model leaves in a new home folder."""
    home.mkdir()
    # Continuous integration switches it off as well; here it must be callout that does.
    environment = {k: v for k, v in os.environ.items() if k not in ("CI", "ORT_RUNNING_UNIT_TESTS")}
    subprocess.run(
        [sys.executable, "-c", PROGRAM],
        env={**environment, "HOME": str(home), "XDG_CACHE_HOME": str(home / ".cache")},
        check=True,
        timeout=240,
    )
    return sorted(str(path.relative_to(home)) for path in home.rglob("*") if path.is_file())


def test_opening_the_model_leaves_no_identifier_and_no_usage_data(tmp_path: Path):
    assert [] == left_behind(tmp_path / "home")


def test_a_program_that_looks_for_a_network_is_found_out(tmp_path: Path):
    """The other tests would pass for nothing if a try were not counted."""
    need_namespaces()
    done, tries = run_cut_off([sys.executable, "-c", LOOKS], str(tmp_path / "counted"))

    assert "Network is unreachable" in done.stdout
    assert 1 == tries
