"""When each step of a turn happened: the marks from which `callout bench turn` reads.

Rule of this file: a mark costs one line in a file and decides nothing. Without
`--moments FILE` nothing is marked. All times are seconds of the boot clock, so
that another process on this machine can lay its own beside them.
"""

from __future__ import annotations

import json
import threading
import time
from collections import deque
from pathlib import Path
from typing import Any, Protocol

from callout.running.clock import boot_seconds
from callout.running.problems import CannotRunError

ENDING = ".jsonl"
"""Of a file of marks: another one that is there already is not replaced."""

KEPT = 1.5
"""Seconds of sound whose coming is told with what was heard in it."""


class Moments(Protocol):
    """Takes marks; safe from any thread."""

    def mark(self, what: str, at: float | None = None, **data: object) -> None:
        """`what` happened now, or at boot second `at`."""

    def close(self) -> None:
        """No further mark is taken."""


class Unmarked:
    """Nobody asks."""

    def mark(self, what: str, at: float | None = None, **data: object) -> None:
        """Nothing is written."""

    def close(self) -> None:
        """Nothing is open."""


UNMARKED = Unmarked()


class MomentsFile:
    """Marks as lines of JSON in a file, each there as soon as it is made."""

    def __init__(self, path: Path) -> None:
        self._file = path.open("w", encoding="utf-8", buffering=1)
        self._one_at_a_time = threading.Lock()

    def mark(self, what: str, at: float | None = None, **data: object) -> None:
        """Write one line."""
        line = json.dumps({"what": what, "at": boot_seconds() if at is None else at, **data})
        with self._one_at_a_time:
            if not self._file.closed:
                self._file.write(line + "\n")

    def close(self) -> None:
        """Let the file go; a mark that comes later is dropped."""
        with self._one_at_a_time:
            self._file.close()


def marked_in(path: Path | None) -> Moments:
    """Give what marks into this file, or nowhere.

    Raises CannotRunError: it cannot be written, or is there and is no such file by its name.
    """
    if path is not None and path.is_file() and path.suffix != ENDING:
        raise CannotRunError(f"{path} is there already and is no {ENDING}: give another name.")
    try:
        return UNMARKED if path is None else MomentsFile(path)
    except OSError as error:
        raise CannotRunError(f"--moments {path} cannot be written: {error.strerror}.") from None


def from_monotonic(seconds: float) -> float:
    """Boot seconds of a moment of time.monotonic()."""
    return boot_seconds() - (time.monotonic() - seconds)


class Comings:
    """When the last blocks of sound came: (session time they end at, boot second they came)."""

    def __init__(self) -> None:
        self._blocks: deque[tuple[float, float]] = deque(maxlen=int(KEPT / 0.005))

    def came(self, ends_at: float) -> None:
        """A block came now."""
        self._blocks.append((ends_at, boot_seconds()))

    def told(self) -> list[list[float]]:
        """Those of the last KEPT seconds."""
        newest = self._blocks[-1][0] if self._blocks else 0.0
        return [[e, c] for e, c in self._blocks if e > newest - KEPT]

    @property
    def last(self) -> float:
        """When the last one came."""
        return self._blocks[-1][1] if self._blocks else 0.0


def about(state: Any) -> dict[str, object]:  # noqa: ANN401 - SessionState; no import for one mark
    """What a session stands at, for whoever answers in a pilot's place."""
    run = state.run
    return {
        "mode": state.mode.value,
        "list": run.list_id if run is not None else "",
        "item": state.item if state.item is not None else -1,
        "prompt": state.prompt_say,
        "answers": [p.text for p in state.grammar.phrases if p.means.startswith("answer:")],
    }
