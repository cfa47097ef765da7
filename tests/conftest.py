"""Fixtures that several rooms share.

Rule of this file: what costs a second is made once a process, and only if it is asked for.
"""

from __future__ import annotations

import itertools
import signal

import pytest
from postgres_server import running

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # As in the background of a shell: programs started here would inherit it, and Ctrl-C
    # would never reach those that are to be ended by it.
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def postgres():
    """One PostgreSQL server for all tests of this process that want one."""
    with running() as server:
        yield server


@pytest.fixture
def database(postgres, _names=itertools.count()):  # noqa: B008
    """A new, empty database on it."""
    return postgres.database(f"logbook_{next(_names)}")
