"""The bundle's two ends: what is packed is summed as sha256sum has it, and held before installing.

That a whole bundle installs where there is no network was tried by hand: DEVELOPERS.md.
"""

from __future__ import annotations

import importlib.util
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

CI = Path(__file__).parents[2] / ".ci"


@pytest.fixture
def bundle():
    spec = importlib.util.spec_from_file_location("bundle", CI / "bundle.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def packed(tmp_path, bundle):
    """A bundle with one file in place of its wheels."""
    (tmp_path / "wheels").mkdir()
    (tmp_path / "wheels" / "one.whl").write_bytes(b"wheel")
    shutil.copy(CI / "install.py", tmp_path)
    bundle._sums(tmp_path)
    return tmp_path


def test_sums_are_those_of_sha256sum(packed):
    done = subprocess.run(
        ["sha256sum", "-c", "SHA256SUMS"], cwd=packed, capture_output=True, text=True, check=False
    )

    assert 0 == done.returncode
    assert ["install.py: OK", "wheels/one.whl: OK"] == done.stdout.splitlines()


def test_what_was_changed_is_not_installed(packed):
    (packed / "wheels" / "one.whl").write_bytes(b"whale")
    done = subprocess.run(
        [sys.executable, str(packed / "install.py"), str(packed / "new")],
        capture_output=True,
        text=True,
        check=False,
    )

    assert 1 == done.returncode
    assert "wheels/one.whl is not what was packed. Nothing was installed.\n" == done.stderr
    assert not (packed / "new").exists()


def test_all_that_is_packed_is_there(bundle):
    assert [] == [name for name in bundle.TAKEN if not (CI.parent / name).exists()]
