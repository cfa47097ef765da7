"""What can be seen of this machine without trying it: files, folders, versions.

Rule of this file: it looks and changes nothing; no file or folder is made.
"""

from __future__ import annotations

import os
import platform
import re
import sqlite3
import sys
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

from callout import __version__
from callout.logbook.errors import LogbookError
from callout.logbook.opening import plain_file
from callout.logbook.store import Logbook
from callout.running.findings import Finding, Part

_EXTRAS = ("hibari-tts", "onnxruntime")
"""Distributions used where they are there, besides those callout needs."""

_BRIDGE = "libasound_module_pcm_pulse.so"
"""The module through which PortAudio reaches PulseAudio or PipeWire on Linux."""


def logbook(path: Path) -> Finding:
    """Tell where the logbook is, whether it is whole and can be written."""
    try:
        path = plain_file(path)
        sessions = _sessions(path)
    except LogbookError as problem:
        return Finding(Part.LOGBOOK, str(path), "", works=False, says=str(problem))
    wrong = _not_writable(path)
    said = wrong or sessions
    return Finding(Part.LOGBOOK, str(path), f"--logbook {path}", works=not wrong, says=said)


def _sessions(path: Path) -> str:
    if not path.exists() or not path.stat().st_size:
        return "A new one: it is made by the first session."
    with Logbook.read(path) as book:
        sessions = book.sessions()
    unfinished = sum(1 for session in sessions if session.ended is None)
    count = f"{len(sessions)} {'session' if len(sessions) == 1 else 'sessions'}"
    return f"Whole; {count}, {unfinished} not ended."


def clips(folder: Path) -> Finding:
    """Tell where prepared speech is kept, how much, and whether more can be."""
    sizes = [path.stat().st_size for path in _clips(folder)]
    wrong = _not_writable(folder / "clip")
    kept = f"{len(sizes)} sentences, {sum(sizes) / 1e6:.1f} MB."
    return Finding(Part.CLIPS, str(folder), "", works=not wrong, says=wrong or kept)


def _clips(folder: Path) -> Iterator[Path]:
    return folder.glob("*.clip") if folder.is_dir() else iter(())


def _not_writable(path: Path) -> str:
    """What keeps a file from being made or written there; "" if nothing does."""
    places = [path, path.with_name(path.name + "-wal")] if path.exists() else []
    places.append(next(folder for folder in path.parents if folder.exists()))
    for place in places:
        if place.exists() and not os.access(place, os.W_OK):
            return f"{place} cannot be written: you may not, or the disk is read-only."
    return ""


def versions() -> dict[str, str]:
    """Versions of callout, Python, SQLite and the libraries callout uses; "" where not there."""
    found = {
        "callout": __version__,
        "python": platform.python_version(),
        "system": platform.platform(),
        "sqlite": sqlite3.sqlite_version,
    }
    return found | {name: _version(name) for name in (*_needed(), *_EXTRAS)}


def _needed() -> list[str]:
    """Names of the distributions that callout says it needs."""
    try:
        required = metadata.requires("callout") or []
    except metadata.PackageNotFoundError:
        return []
    return [
        re.split(r"[^\w.-]", line, maxsplit=1)[0] for line in required if "extra ==" not in line
    ]


def _version(name: str) -> str:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return ""


def sound_server_out_of_reach() -> bool:
    """Whether a PulseAudio or PipeWire server runs that PortAudio has no way to."""
    if not sys.platform.startswith("linux"):
        return False
    runtime = os.environ.get("XDG_RUNTIME_DIR")
    runs = bool(os.environ.get("PULSE_SERVER")) or (
        runtime is not None and Path(runtime, "pulse", "native").exists()
    )
    return runs and not any(_bridges())


def _bridges() -> Iterator[Path]:
    for place in ("/usr/lib", "/usr/lib64", "/usr/local/lib"):
        yield from Path(place).glob(f"alsa-lib/{_BRIDGE}")
        yield from Path(place).glob(f"*/alsa-lib/{_BRIDGE}")
