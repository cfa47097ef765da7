"""Giving a sound device back: one that is gone may never let itself be closed.

Rule of this file: nothing here waits for ever, now or when the program ends. Seen with a
sound server that ended: its library waited for a lock that nobody held any more to give back.
"""

from __future__ import annotations

import atexit
import sys
import threading
from contextlib import suppress
from typing import Protocol

WITHIN = 1.0
"""Seconds that a device is given to close."""


class Closes(Protocol):
    """A stream of sound, to or from a device."""

    def close(self) -> object:
        """Give the device back."""


def give_back(stream: Closes, within: float = WITHIN) -> None:
    """Close a stream on a thread of its own; returns when it is closed or the time (s) is up.

    Never raises: whoever gives a device back can do nothing about what is wrong with it.
    """
    closing = threading.Thread(target=_close, args=(stream,), name="closing a device", daemon=True)
    closing.start()
    closing.join(timeout=within)
    if closing.is_alive():
        _end_without_closing()


def _close(stream: Closes) -> None:
    with suppress(Exception):
        stream.close()


def _end_without_closing() -> None:
    """When the program ends, sounddevice would close again what does not let itself be closed."""
    sounddevice = sys.modules.get("sounddevice")
    closes_all = getattr(sounddevice, "_exit_handler", None)
    if closes_all is not None:
        atexit.unregister(closes_all)
