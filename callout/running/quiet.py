"""Keeps what C libraries print off the terminal.

Rule of this file: sound systems write to the process's own standard error ("ALSA
lib ... underrun occurred") whenever they like, in the middle of a line that a
pilot reads. What Python writes to sys.stderr still arrives.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

_STDERR = 2


@contextmanager
def quiet_libraries() -> Iterator[None]:
    """Within, file descriptor 2 leads nowhere, and sys.stderr to where it led before."""
    try:
        if sys.stderr.fileno() != _STDERR:
            raise OSError  # somebody reads sys.stderr elsewhere: it is left to him
        sys.stderr.flush()
        kept = os.dup(_STDERR)
    except (AttributeError, OSError, ValueError):  # no standard error of our own to protect
        yield
        return
    python = sys.stderr
    own = open(kept, "w", encoding=python.encoding, errors="replace", buffering=1)  # noqa: SIM115
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, _STDERR)
    os.close(nowhere)
    sys.stderr = own
    try:
        yield
    finally:
        sys.stderr = python
        own.flush()
        os.dup2(kept, _STDERR)
        own.close()
