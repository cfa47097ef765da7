"""Target: whatever a screen sends is a message or junk, and a phone's frame has a time or none.

Rule of this file: `one` takes bytes and raises only for what is wrong in callout.
"""

from __future__ import annotations

import math
import struct

from callout.glance.jitter import Jitter
from callout.glance.messages import LONGEST_WORDS, Invite, JunkError, message

MOST = 3000


def one(data: bytes) -> None:
    """The bytes as a message, and as numbers of frames that come 20 ms after one another."""
    try:
        found = message(data.decode("utf-8", "replace"))
    except JunkError:
        found = Invite("pilot")
    if not isinstance(found, Invite):
        assert 0 < len(found.text) <= LONGEST_WORDS and found.text.isprintable()
        assert found.serial >= 0 and math.isfinite(found.asked_at)
    jitter = Jitter()
    for at, (number,) in enumerate(struct.iter_unpack("<I", data[: len(data) // 4 * 4])):
        placed = jitter.take(number, at * 0.02)
        if placed is not None:
            assert all(math.isfinite(part) for part in placed) and placed[1] > -1e-6, placed
