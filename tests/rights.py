"""A folder that may be read and not written, whoever runs the tests.

Rule of this file: plain functions, no test.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

NOBODY = 65534
"""The user without rights on Linux (common practice, no source)."""


@contextlib.contextmanager
def without_rights(folder: Path) -> Iterator[None]:
    """Folder and files may be read, not written, even where the tests run as root."""
    as_root = os.geteuid() == 0
    for path in folder.iterdir():
        path.chmod(0o444)
    folder.chmod(0o555)
    if as_root:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        if as_root:
            os.seteuid(0)
        folder.chmod(0o755)
