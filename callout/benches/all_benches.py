"""Every bench in one run: what each printed, set down beside what the README says.

Rule of this file: it measures nothing itself. A part is a `callout bench ... --json`
command and a function that makes rows of its objects; a part that fails is a row that
says so, and the others go on.
"""

from __future__ import annotations

import json
import os
import platform
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import callout

Object = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Row:
    """One figure.

    Fields:
        what: was measured, with its condition
        got: by callout; `beside`: by the other ears on the same sounds, name -> figure
        claim: the README's own words about it, "" if it has none
    """

    what: str
    got: str
    beside: tuple[tuple[str, str], ...] = ()
    claim: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """One bench.

    Fields:
        name: for --only
        title: for people
        words: of the command after `callout bench`
        rows: makes rows of the objects it printed
        lacks: why it cannot be run here; "" if it can
        minutes: about how long it takes by itself on an idle core
        timed: times are its figures, so that nothing may run beside it
    """

    name: str
    title: str
    words: tuple[str, ...]
    rows: Callable[[Sequence[Object]], Iterator[Row]]
    lacks: str = ""
    minutes: float = 1.0
    timed: bool = False


@dataclass(frozen=True, slots=True)
class Measured:
    """A part that was run: its rows, how long it took (s), and what went wrong, if anything."""

    title: str
    command: str
    rows: tuple[Row, ...]
    took: float
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class Page:
    """All of a run.

    Fields:
        at: when it began (UTC); machine: pairs for people; quick: with fewer of everything
    """

    at: str
    quick: bool
    machine: tuple[tuple[str, str], ...]
    parts: tuple[Measured, ...]

    def as_json(self) -> str:
        """The same for programs."""
        return json.dumps(asdict(self), indent=1) + "\n"


STOPPED = "the run was stopped before this was measured"


class Stopping:
    """Runs programs until it is stopped: those that run are ended, and no more begin."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._running: set[subprocess.Popen[str]] = set()
        self._over = False

    def run(self, command: Sequence[str]) -> tuple[str, str] | None:
        """What it printed and what it complained of; None if it was stopped."""
        with self._lock:
            if self._over:
                return None
            # A group of its own: what it starts itself holds the pipe too, and is ended with it.
            child = subprocess.Popen(
                command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                start_new_session=True,
            )  # fmt: skip
            self._running.add(child)
        said = child.communicate()
        with self._lock:
            self._running.remove(child)
            return None if self._over else said

    def stop(self) -> None:
        """From any thread."""
        with self._lock:
            self._over = True
            for child in self._running:
                _end(child)


def _end(child: subprocess.Popen[str]) -> None:
    if sys.platform == "win32":
        child.terminate()
        return
    with suppress(ProcessLookupError):
        os.killpg(child.pid, signal.SIGTERM)


def measure(
    parts: Sequence[Part],
    *,
    quick: bool,
    jobs: int,
    told: Callable[[str], None],
    minutes: float | None = None,
) -> Page:
    """Run them: first those that take times, each alone, then the others, `jobs` at once.

    `told` gets a sentence of each. What is not done after so many minutes, or when
    Ctrl-C is pressed, is a part that says so: what was measured is not lost.
    """
    at = datetime.now(UTC).strftime("%Y-%m-%d %H:%M UTC")
    before = machine()
    stopping = Stopping()
    done: dict[str, Measured] = {}

    def one(part: Part) -> None:
        told(f"{part.title}: about {part.minutes:g} min" if not part.lacks else part.title)
        done[part.name] = run(part, stopping)

    late = threading.Timer((minutes or 0.0) * 60, stopping.stop)
    if minutes is not None:
        late.start()
    with ThreadPoolExecutor(jobs) as pool:
        try:
            for part in parts:
                if part.timed:
                    one(part)
            for begun in [pool.submit(one, part) for part in parts if not part.timed]:
                begun.result()
        except KeyboardInterrupt:
            stopping.stop()
        finally:
            late.cancel()
    rows = (done.get(part.name) or _not_done(part) for part in parts)
    return Page(at, quick, before, tuple(rows))


def run(part: Part, stopping: Stopping) -> Measured:
    """Run one part."""
    if part.lacks:
        return Measured(part.title, _shown(part), (), 0.0, part.lacks)
    command = [sys.executable, "-m", "callout", "bench", *part.words, "--json"]
    began = time.monotonic()
    printed = stopping.run(command)
    if printed is None:
        return _not_done(part)
    took = time.monotonic() - began
    try:
        said = [json.loads(line) for line in printed[0].splitlines() if line.startswith("{")]
        rows = tuple(part.rows(said)) if said else ()
        trouble = "" if rows else _last_line(printed[1])
    except (KeyError, TypeError, ValueError, ArithmeticError) as error:
        rows, trouble = (), f"what it printed has not the form that was expected: {error!r}"
    return Measured(part.title, _shown(part), rows, took, trouble)


def _not_done(part: Part) -> Measured:
    return Measured(part.title, _shown(part), (), 0.0, STOPPED)


def _shown(part: Part) -> str:
    """The command for people: files by their names, wherever they lie on this machine."""
    words = (Path(word).name if Path(word).is_absolute() else word for word in part.words)
    return " ".join(("callout bench", *words))


def _last_line(text: str) -> str:
    lines = [line for line in text.splitlines() if line.strip()]
    return lines[-1] if lines else "it printed nothing"


def machine() -> tuple[tuple[str, str], ...]:
    """What it is measured on."""
    return (
        ("callout", _version()),
        ("Python", f"{platform.python_implementation()} {platform.python_version()}"),
        ("system", f"{platform.system()} {platform.release()}, {platform.machine()}"),
        ("processor", f"{_processor()}, {os.cpu_count()} cores"),
        ("load before", f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "unknown"),
    )


def _version() -> str:
    """With the commit where it is run from a working copy."""
    top = Path(__file__).resolve().parents[2]
    try:
        commit = subprocess.run(
            ["git", "describe", "--always", "--dirty"],
            cwd=top, capture_output=True, text=True, check=True,
        ).stdout.strip()  # fmt: skip
    except (OSError, subprocess.CalledProcessError):
        return callout.__version__
    return f"{callout.__version__}, {commit}"


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return platform.processor() or "unknown"
    names = (line.partition(":")[2].strip() for line in lines if line.startswith("model name"))
    return next(names, platform.machine())
