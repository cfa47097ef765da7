"""The marks of a running session, read while they are written.

Rule of this file: lines in, dictionaries out; it waits for what is to come, never
longer than it is told.
"""

from __future__ import annotations

import json
import subprocess
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from callout.running.problems import CannotRunError

Mark = dict[str, Any]
Wanted = Callable[[Mark], Any]


class NothingCameError(CannotRunError):
    """What was waited for did not happen; the text is for people."""


class Marks:
    """All marks of one session so far, oldest first; `place` is how many there are."""

    def __init__(self, path: Path, process: subprocess.Popen[bytes], transcript: Path) -> None:
        self._file = path.open(encoding="utf-8")
        self._process = process
        self._transcript = transcript
        self._left = ""
        self._marks: list[Mark] = []

    def close(self) -> None:
        """Read no further."""
        self._file.close()

    @property
    def place(self) -> int:
        """How many marks there are now."""
        self._read()
        return len(self._marks)

    def wait(self, wanted: Wanted, timeout: float, after: int | None = None) -> Mark:
        """The first such mark from place `after` on (now, if not given)."""
        place = self.place if after is None else after
        until = time.monotonic() + timeout
        while time.monotonic() < until:
            over = self._process.poll() is not None
            self._read()
            for mark in self._marks[place:]:
                if wanted(mark):
                    return mark
            place = max(place, len(self._marks))
            if over:
                raise NothingCameError(self._ended())
            time.sleep(0.005)
        raise NothingCameError(f"Nothing of what was waited for came within {timeout:.0f} s.")

    def place_of(self, mark: Mark) -> int:
        """Where a mark stands."""
        return next(i for i, one in enumerate(self._marks) if one is mark)

    def newest(self, what: str) -> Mark | None:
        """The last mark of this kind."""
        self._read()
        return next((mark for mark in reversed(self._marks) if mark["what"] == what), None)

    def first(self, wanted: Wanted, since: float) -> Mark | None:
        """The first such mark at or after a boot second."""
        self._read()
        return next((m for m in self._marks if m["at"] >= since and wanted(m)), None)

    def last(self, wanted: Wanted, since: float, until: float) -> Mark | None:
        """The last such mark between two boot seconds."""
        self._read()
        found = [m for m in self._marks if since <= m["at"] <= until and wanted(m)]
        return found[-1] if found else None

    def _ended(self) -> str:
        said = self._transcript.read_text(encoding="utf-8", errors="replace").split("\n")
        last = next((line for line in reversed(said) if line.strip()), "nothing was printed")
        return f"callout ended (status {self._process.returncode}): {last}"

    def _read(self) -> None:
        self._left += self._file.read()
        *lines, self._left = self._left.split("\n")
        self._marks += [json.loads(line) for line in lines]
