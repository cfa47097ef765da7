"""Memory that was freed goes back to the system.

Rule of this file: a setting of the C library's allocator, where it has it; nothing
depends on it. A session makes large arrays now and then, when a sentence is made
or an utterance judged; glibc would keep each thread's largest for ever.
"""

from __future__ import annotations

import ctypes
import sys
from contextlib import suppress

_TRIM_THRESHOLD, _MMAP_THRESHOLD, _ARENA_MAX = -1, -3, -8  # of mallopt(3)
LARGE = 65_536
"""Bytes from which on a block is the system's own, and goes back when it is freed."""
ARENAS = 2
"""Pools of smaller blocks; glibc's own choice is eight for each core."""


def give_back_freed() -> None:
    """Set it for this process; nothing happens where there is no glibc."""
    if not sys.platform.startswith("linux"):
        return
    with suppress(OSError, AttributeError):
        mallopt = ctypes.CDLL(None).mallopt
        for what, value in (
            (_MMAP_THRESHOLD, LARGE),
            (_TRIM_THRESHOLD, 2 * LARGE),
            (_ARENA_MAX, ARENAS),
        ):
            mallopt(what, value)
