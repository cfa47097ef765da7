"""What a failed test leaves behind is cleared away, so that its second try stands for itself.

Rule of this file: only a test that failed is touched, and only after its fixtures are done.
Its programs are ended, lest they slow down or meet its second try; its streams and sockets
are closed here, unseen, or pytest would find them at its end and call the whole run failed.
"""

from __future__ import annotations

import gc
import subprocess
import threading
import time
import traceback
import warnings
from collections.abc import Iterator
from contextlib import suppress
from weakref import WeakSet

import pytest

MADE: WeakSet[subprocess.Popen] = WeakSet()
"""Programs begun since the test in hand was called; those of its fixtures are not among them."""

PATIENCE = 10.0
"""Seconds for which threads that read from an ended program may come to their end."""

_FAILED = pytest.StashKey[BaseException]()
_THREADS = pytest.StashKey[set[threading.Thread]]()
_begin = subprocess.Popen.__init__


def _noted(self: subprocess.Popen, *words: object, **options: object) -> None:
    MADE.add(self)
    _begin(self, *words, **options)


subprocess.Popen.__init__ = _noted


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Iterator[None]:
    """Note what goes wrong, and begin with no programs."""
    MADE.clear()
    item.stash[_THREADS] = set(threading.enumerate())
    try:
        return (yield)
    except BaseException as error:
        item.stash[_FAILED] = error
        raise


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_teardown(item: pytest.Item) -> Iterator[None]:
    """After all fixtures are done, clear away behind a test that failed."""
    try:
        return (yield)
    finally:
        if (error := item.stash.get(_FAILED, None)) is not None:
            del item.stash[_FAILED]
            clear(error, set(threading.enumerate()) - item.stash[_THREADS])
        MADE.clear()


def clear(error: BaseException, threads: set[threading.Thread]) -> None:
    """End the programs, let their readers end, and close what the test's own code held."""
    programs = [program for program in MADE if program.pid is not None]  # None: never began
    for program in programs:
        with suppress(OSError):
            program.kill()
        program.wait()
    until = time.monotonic() + PATIENCE
    for thread in threads - {threading.current_thread()}:
        thread.join(max(0.0, until - time.monotonic()))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)
        for program in programs:
            _close(program)
        _let_go(error)
        gc.collect()


def _close(program: subprocess.Popen) -> None:
    for stream in (program.stdin, program.stdout, program.stderr):
        if stream is not None:
            with suppress(OSError, ValueError):  # what was still to be written to it
                stream.close()


def _let_go(error: BaseException | None) -> None:
    """Of everything that the failed code still holds by name, causes included."""
    while error is not None:
        for frame, _ in traceback.walk_tb(error.__traceback__):
            with suppress(RuntimeError):  # it still runs: one of pytest's own
                frame.clear()
            _ = frame.f_locals  # up to Python 3.12 what was shown of them is kept till now
        error = error.__cause__ or error.__context__
