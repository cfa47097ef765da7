"""Fixtures that several rooms share.

Rule of this file: what costs a second is made once a process, and only if it is asked for.
"""

from __future__ import annotations

import itertools
import os
import signal

import pytest
from hypothesis import settings
from left_behind import pytest_runtest_call, pytest_runtest_teardown  # noqa: F401
from postgres_server import running

# A program inherits what is ignored, as Ctrl-C is in the background of a shell and the closing
# of a terminal under nohup, and would not be ended by it. What is handled it does not inherit.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
if signal.getsignal(signal.SIGHUP) is signal.SIG_IGN:
    signal.signal(signal.SIGHUP, lambda *_: None)


# The same examples in every run, wherever it is, and no time limit for each: a busy machine
# takes longer. Only who asks for a longer search (budget.py) has it go by chance.
settings.register_profile("by chance", deadline=None)
settings.load_profile("by chance" if "CALLOUT_EXAMPLES" in os.environ else "ci")


LONGEST = (
    "test_recorded_session.py",
    "test_squawks.py",
    "test_sharing.py",
    "test_taking_up.py",
    "test_terminal_keys.py",
    "test_drills_by_voice.py",
    "test_warning_kept.py",
    "test_power_cut.py",
    "test_built_in_real.py",
    "test_changed_lists.py",
    "test_bench_logbook.py",
    "test_bench_starts.py",
    "test_voice_synthesisers.py",
    "test_dictation.py",
)
"""Files whose tests took longest in a whole run (--durations), the longest first."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """They begin first: else one worker has them before it at the end, and the others have done.

    pytest-xdist gives each worker an equal stretch of what was collected: each begins with its
    share of them.
    """
    workers = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
    place = {name: number for number, name in enumerate(LONGEST)}
    long = sorted(
        (one for one in items if one.path.name in place), key=lambda one: place[one.path.name]
    )
    rest = iter([one for one in items if one.path.name not in place])
    ordered: list[pytest.Item] = []
    for worker in range(workers):
        share = [one for one in long if place[one.path.name] % workers == worker]
        stretch = (len(items) - len(ordered)) // (workers - worker)
        ordered += share
        ordered += itertools.islice(rest, max(0, stretch - len(share)))
    items[:] = [*ordered, *rest]


@pytest.fixture(scope="session")
def postgres():
    """One PostgreSQL server for all tests of this process that want one."""
    with running() as server:
        yield server


@pytest.fixture
def database(postgres, _names=itertools.count()):  # noqa: B008
    """A new, empty database on it."""
    return postgres.database(f"logbook_{next(_names)}")
