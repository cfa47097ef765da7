"""The transcript on a terminal: one line for each thing said.

Rule of this file: plain lines, no cursor movement, so that it reads the same
on a terminal, in a file and to a screen reader.
"""

from __future__ import annotations

import sys
from typing import TextIO


def clock_text(seconds: float) -> str:
    """Session time as M:SS.t."""
    minutes, rest = divmod(max(0.0, seconds), 60)
    return f"{int(minutes):3d}:{rest:04.1f}"


class Transcript:
    """Writes lines to a stream; a stream that is closed is given up silently."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream: TextIO | None = stream or sys.stdout

    def line(self, now: float, who: str, text: str) -> None:
        """One line said by `who` at session time `now` (s)."""
        if self._stream is None:
            return
        try:
            print(f"{clock_text(now)}  {who:<8} {text}", file=self._stream, flush=True)
        except (OSError, ValueError):
            # The terminal went away; the voice and the logbook are still there.
            self._stream = None
