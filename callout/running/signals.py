"""What the keyboard and the system may ask of a running session.

Rule of this file: a handler only puts something into the session's inbox, so
that no event is ever cut in half between being written down and carried out.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

from callout.running.live import Live

TERMINATED = 128 + signal.SIGTERM
"""Exit status of a program that was told to end (as shells report it)."""


@contextmanager
def obeyed(live: Live) -> Iterator[Callable[[], None]]:
    """Within, Ctrl-C stops the session; the system's end, or the terminal's, leaves it as it is.

    A second Ctrl-C raises KeyboardInterrupt wherever the program is; none does anything any
    more once what this gives was called.
    """
    if threading.current_thread() is not threading.main_thread():
        yield lambda: None
        return

    def stop(number: int, frame: FrameType | None) -> None:
        del number, frame
        signal.signal(signal.SIGINT, signal.default_int_handler)
        live.stop("stopped at the keyboard")

    def leave(number: int, frame: FrameType | None) -> None:
        del number, frame
        live.leave()

    wanted = {signal.SIGINT: stop, signal.SIGTERM: leave}
    if hasattr(signal, "SIGHUP"):
        wanted[signal.SIGHUP] = leave
    # What was started to ignore a signal (nohup, in the background) goes on ignoring it.
    mine = {n: h for n, h in wanted.items() if signal.getsignal(n) is not signal.SIG_IGN}
    before = {number: signal.signal(number, handler) for number, handler in mine.items()}
    try:
        yield lambda: _ignore(signal.SIGINT)
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _ignore(number: signal.Signals) -> None:
    signal.signal(number, signal.SIG_IGN)
