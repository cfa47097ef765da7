"""One program at a time writes to a logbook.

Rule of this file: the operating system holds the lock, never the mere presence
of a file, so that a program that was killed leaves nothing locked. The lock
file stays where it is: removing it would let two programs lock two files of the
same name.
"""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path

from callout.logbook.errors import LockedError, from_os

_FAR = 1 << 20
"""Windows keeps others from reading what is locked: lock a byte beyond the text."""


class Lock:
    """Held from `take` until `release` or the end of the process."""

    def __init__(self, handle: int, path: Path) -> None:
        self._handle: int | None = handle
        self._path = path

    @classmethod
    def take(cls, logbook: Path) -> Lock:
        """Lock `logbook` by the file beside it; LockedError names the process that has it."""
        path = logbook.with_name(logbook.name + ".lock")
        try:
            handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        except OSError as error:
            raise from_os(error, logbook) from None
        try:
            _lock(handle)
        except OSError:
            holder = _read(handle)
            os.close(handle)
            raise LockedError(_sentence(logbook, holder)) from None
        _write(handle, str(os.getpid()))
        return cls(handle, path)

    def release(self) -> None:
        """Let others have it; a second call does nothing."""
        if self._handle is not None:
            handle, self._handle = self._handle, None
            os.close(handle)

    def forget(self) -> None:
        """Release, and leave no lock file beside a file that is no logbook."""
        with contextlib.suppress(OSError):  # Windows removes no file that is open
            self._path.unlink()
        self.release()


def _sentence(logbook: Path, holder: str) -> str:
    who = f" (process {holder})" if holder.isdecimal() else ""
    return (
        f"The logbook {logbook} is in use by another callout{who}. "
        "End that one first, or give another file with --logbook FILE.db."
    )


def _read(handle: int) -> str:
    os.lseek(handle, 0, os.SEEK_SET)
    return os.read(handle, 32).decode("ascii", "replace").strip()


def _write(handle: int, text: str) -> None:
    # The number only makes the other's message better: a full disk must not matter.
    with contextlib.suppress(OSError):
        os.ftruncate(handle, 0)
        os.lseek(handle, 0, os.SEEK_SET)
        os.write(handle, text.encode("ascii"))


if sys.platform == "win32":
    import msvcrt

    def _lock(handle: int) -> None:
        os.lseek(handle, _FAR, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _lock(handle: int) -> None:
        # flock, not lockf: it also keeps a second logbook of the same process
        # out, and closing some other handle of the file does not drop it.
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
