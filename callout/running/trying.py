"""Tries parts of this machine in child processes, each within a time.

Rule of this file: nothing here can hang or print; a part that does not answer is
ended and said to have not answered.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from typing import Any

MODULE = "callout.running.probe"

LIMITS = {"devices": 20.0, "microphone": 8.0, "loudspeaker": 8.0, "ear": 30.0, "voice": 30.0}
"""Seconds that one part may take. What works on a busy or slow machine is not to be said to
hang; a session, though, waits for its own two devices until it tells that one is lost."""

ALTOGETHER = 180.0
"""Seconds that all parts together may take: on a busy machine half a minute was measured."""

Told = dict[str, Any]
Probe = Callable[[str, str], Told]


class Trying:
    """Tries parts; a callable (part, name) -> what was found, or {"wrong": a sentence}.

    Args:
        altogether: seconds from now on after which nothing more is tried
        module: what is run as the child (a seam: a test gives one that hangs)
    """

    def __init__(self, altogether: float = ALTOGETHER, module: str = MODULE) -> None:
        self._until = time.monotonic() + altogether
        self._module = module

    def __call__(self, part: str, name: str = "") -> Told:
        """Try one part."""
        limit = min(LIMITS[part], self._until - time.monotonic())
        if limit <= 0:
            return {"wrong": "Not tried: the parts before it took too long."}
        command = [sys.executable, "-m", self._module, part, name]
        with subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
            start_new_session=True,
        ) as child:
            try:
                answer, _ = child.communicate(timeout=limit)
            except subprocess.TimeoutExpired:
                return {"wrong": f"It did not answer within {limit:.0f} seconds."}
            finally:
                _end(child)
        return _read(answer, child.returncode)


def _read(answer: str, status: int) -> Told:
    try:
        told: Told = json.loads(answer)
    except ValueError:
        return {"wrong": f"The program that tried it crashed (status {status})."}
    return told


def _end(child: subprocess.Popen[str]) -> None:
    """End the child and what it started."""
    if hasattr(os, "killpg"):
        with suppress(OSError):  # they have all ended
            os.killpg(child.pid, signal.SIGKILL)
    else:
        child.kill()
