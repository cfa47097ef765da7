"""Zip archives from somebody else, unpacked into an empty folder and nowhere outside it.

Rule of this file: an archive is hostile until every name in it has been looked
at. Nothing is written before that, and no more than is allowed is written then.
"""

from __future__ import annotations

import shutil
import stat
import zipfile
import zlib
from pathlib import Path, PurePosixPath

from callout.ear.models import fault, install, model_in, workplace
from callout.ear.problems import ModelProblem

MOST_BYTES = 8 * 1024**3
"""Unpacked size above which an archive is refused; the largest Vosk models need about 5 GB."""

MOST_FILES = 10_000
PIECE = 1024 * 1024

_BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError)


def unpack(archive: Path, place: Path, *, most_bytes: int = MOST_BYTES) -> None:
    """Unpack a zip archive into the folder `place`.

    Raises ModelProblem for what is no zip archive, is broken, holds links or
    names that lead outside, or is larger than `most_bytes` when unpacked.
    """
    try:
        with zipfile.ZipFile(archive) as opened:
            entries = opened.infolist()
            _look(archive, entries, most_bytes)
            left = most_bytes
            for entry in entries:
                left -= _write(opened, entry, place, left)
    except _BROKEN as problem:
        raise ModelProblem(
            f"{archive.name} is not a zip archive that can be read: {problem}."
        ) from problem
    except OSError as problem:
        raise ModelProblem(f"{archive.name} cannot be unpacked: {problem.strerror}.") from problem


def _look(archive: Path, entries: list[zipfile.ZipInfo], most_bytes: int) -> None:
    """Refuse the archive by what its table of contents says."""
    if len(entries) > MOST_FILES:
        raise ModelProblem(f"{archive.name} holds {len(entries)} files; no model has so many.")
    if sum(entry.file_size for entry in entries) > most_bytes:
        raise ModelProblem(f"{archive.name} would unpack to more than {most_bytes} bytes.")
    for entry in entries:
        parts = PurePosixPath(entry.filename).parts
        outside = entry.filename.startswith("/") or ".." in parts or not parts
        if outside or any(sign in entry.filename for sign in "\\:\0"):
            raise ModelProblem(
                f"{archive.name} holds a file that leads outside: {entry.filename!r}."
            )
        kind = stat.S_IFMT(entry.external_attr >> 16)
        if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
            raise ModelProblem(
                f"{archive.name} holds something that is no plain file: {entry.filename!r}."
            )


def _write(opened: zipfile.ZipFile, entry: zipfile.ZipInfo, place: Path, left: int) -> int:
    """Write one entry, `left` bytes at most; return how many it had."""
    target = place / entry.filename
    if entry.is_dir():
        target.mkdir(parents=True, exist_ok=True)
        return 0
    target.parent.mkdir(parents=True, exist_ok=True)
    written = 0
    with opened.open(entry) as source, target.open("wb") as out:
        while piece := source.read(PIECE):
            written += len(piece)
            if written > left:
                raise ModelProblem("The archive is larger than it says.")
            out.write(piece)
    return written


def add(given: Path, folder: Path, name: str = "") -> Path:
    """Install a model from a folder or a zip archive on this machine; return where it is now.

    It is called by `name`, or by the name of what was given.  Raises ModelProblem.
    """
    if not given.exists():
        raise ModelProblem(f"There is nothing at {given}.")
    if given.is_dir() and (problem := fault(given)):
        raise ModelProblem(problem)
    with workplace(folder) as place:
        if given.is_dir():
            made = place / "model"
            shutil.copytree(given, made, ignore=_links)
        else:
            unpack(given, place)
            made = model_in(place)
        return install(made, name or given.name.removesuffix(".zip"), folder)


def _links(folder: str, names: list[str]) -> list[str]:
    """Name what is not copied: a link would lead out of the models folder."""
    return [name for name in names if (Path(folder) / name).is_symlink()]
