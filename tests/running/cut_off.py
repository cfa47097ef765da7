"""A program run where there is no network at all, and how often it looked for one.

Rule of this file: plain functions, no test. A network namespace of its own has no route,
not even to itself; its kernel counts every packet that found none (proc(5), /proc/net/snmp:
Ip OutRequests and OutNoRoutes), whichever library sent it.
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Sequence

import pytest

COUNTERS = ("OutRequests", "OutNoRoutes")
_INSIDE = '"$@"; code=$?; grep ^Ip: /proc/net/snmp > "$COUNTED"; exit $code'


def need_namespaces() -> None:
    """Skip the test where none may be made; the reason stands at the end of the run."""
    try:
        done = subprocess.run(
            ["unshare", "-rn", "true"], capture_output=True, text=True, check=False
        )
        why = done.stderr.strip() if done.returncode else ""
    except OSError as error:
        why = str(error)
    if why:
        pytest.skip(f"unshare -rn makes no network namespace here: {why}")


def run_cut_off(
    command: Sequence[str], counted: str, timeout: float = 900
) -> tuple[subprocess.CompletedProcess[str], int]:
    """The command's end, and how many packets it tried to send; `counted` is a file for that."""
    done = subprocess.run(
        ["unshare", "-rn", "sh", "-c", _INSIDE, "sh", *command],
        env={**os.environ, "COUNTED": counted},
        capture_output=True,
        text=True,
        timeout=timeout,
        check=False,
    )
    with open(counted, encoding="ascii") as file:
        names, values = (line.split() for line in file)
    return done, sum(int(values[names.index(name)]) for name in COUNTERS)
