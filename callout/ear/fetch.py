"""A model from its publisher: downloaded, resumed, verified, then installed.

Rule of this file: the only place of this room that goes to a network, and only
when asked to. What does not have the right SHA-256 is never unpacked.
"""

from __future__ import annotations

import hashlib
import http.client
import os
import urllib.error
import urllib.request
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import IO

from callout.ear.models import Published, install, model_in, workplace
from callout.ear.problems import ModelProblem
from callout.ear.unpack import unpack

Progress = Callable[[int, int | None], None]
"""Told bytes that are here, and bytes in all (None if the publisher does not say)."""

MOST_BYTES = 4 * 1024**3
ATTEMPTS = 3
PIECE = 256 * 1024
SILENCE = 30.0
"""Seconds without a byte after which a transfer counts as broken."""


def fetch(
    model: Published,
    folder: Path,
    *,
    progress: Progress = lambda here, total: None,
    url: str = "",
    attempts: int = ATTEMPTS,
) -> Path:
    """Download, verify and install a model; return its folder.

    A transfer that breaks is taken up again, within this call and by the next
    one. `url` names another place of the same archive.
    Raises ModelProblem in one sentence.
    """
    if (folder / model.name).exists():
        raise ModelProblem(f"The model {model.name} is already in {folder}.")
    folder.mkdir(parents=True, exist_ok=True)
    part = folder / f".{model.name}.zip.part"
    _download(replace(model, url=url or model.url), part, progress, attempts)
    _verify(model, part)
    with workplace(folder) as place:
        unpack(part, place)
        made = install(model_in(place), model.name, folder)
    part.unlink()
    return made


def _download(model: Published, part: Path, progress: Progress, attempts: int) -> None:
    problem: Exception | None = None
    for _ in range(attempts):
        before = _size(part)
        try:
            _continue(model.url, part, progress)
            return
        except urllib.error.HTTPError as refused:
            raise ModelProblem(
                f"{model.url} answered {refused.code} {refused.reason}; nothing was fetched."
            ) from refused
        except (OSError, http.client.HTTPException) as broken:
            problem = broken
            if _size(part) == before == 0:
                break
    raise ModelProblem(_broke_off(model.url, _size(part), problem)) from problem


def _broke_off(url: str, here: int, problem: Exception | None) -> str:
    if not here:
        return f"{url} cannot be reached ({_reason(problem)}); is this machine on a network?"
    return (
        f"The transfer from {url} broke off after {here / 1e6:.1f} MB ({_reason(problem)}); "
        "the same command goes on from there."
    )


def _reason(problem: Exception | None) -> str:
    return str(getattr(problem, "reason", problem) or type(problem).__name__)


def _continue(url: str, part: Path, progress: Progress) -> None:
    """Fetch what is missing; a server that cannot resume sends it all again."""
    here = _size(part)
    if not url.startswith(("https://", "http://")):
        raise ModelProblem(f"{url} is no web address.")
    request = urllib.request.Request(url)  # noqa: S310 - the scheme is checked above
    if here:
        request.add_header("Range", f"bytes={here}-")
    try:
        answer = urllib.request.urlopen(request, timeout=SILENCE)  # noqa: S310
    except urllib.error.HTTPError as refused:
        if refused.code == http.client.REQUESTED_RANGE_NOT_SATISFIABLE and here:
            return  # all of it is here, or more: the checksum tells
        raise
    with answer:
        resumed = answer.status == http.client.PARTIAL_CONTENT and _starts_at(answer) == here
        if not resumed:
            here = 0
        length = answer.headers.get("Content-Length")
        total = here + int(length) if length and length.isdecimal() else None
        with part.open("ab" if resumed else "wb") as out:
            _copy(answer, out, here, total, progress)


def _starts_at(answer: http.client.HTTPResponse) -> int:
    """Return the first byte that a partial answer holds ("bytes 100-199/200"), -1 if unsaid."""
    first = (answer.headers.get("Content-Range") or "").removeprefix("bytes ").partition("-")[0]
    return int(first) if first.isdecimal() else -1


def _copy(
    answer: http.client.HTTPResponse,
    out: IO[bytes],
    here: int,
    total: int | None,
    progress: Progress,
) -> None:
    progress(here, total)
    while piece := answer.read(PIECE):
        out.write(piece)
        here += len(piece)
        if here > MOST_BYTES:
            raise ModelProblem("The archive is larger than any model.")
        progress(here, total)
    out.flush()
    os.fsync(out.fileno())
    if total is not None and here < total:
        raise ConnectionError(f"{total - here} bytes are missing")


def _verify(model: Published, part: Path) -> None:
    with part.open("rb") as file:
        found = hashlib.file_digest(file, "sha256").hexdigest()
    if found != model.sha256:
        part.unlink()
        raise ModelProblem(
            f"What was fetched for {model.name} is not what its publisher gave out: SHA-256 is "
            f"{found} and should be {model.sha256}. It was thrown away."
        )


def _size(part: Path) -> int:
    return part.stat().st_size if part.exists() else 0
