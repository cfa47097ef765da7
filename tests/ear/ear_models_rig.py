"""Invented Vosk models, packed and unpacked: they hold what is looked for, and hear nothing.

Rule of this file: values and plain functions, no test.
"""

from __future__ import annotations

import hashlib
import io
import os
import zipfile
from pathlib import Path

from callout.ear.models import Published

FILES = ("am/final.mdl", "conf/mfcc.conf", "graph/HCLr.fst", "graph/Gr.fst")
"""The least that Vosk's own `Model` opens in a small model (vosk-api src/model.cc, from memory)."""


def archive(entries: dict[str, bytes] | None = None, top: str = "vosk-model-tiny/") -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as opened:
        for name in FILES if entries is None else ():
            opened.writestr(top + name, os.urandom(3000))
        for name, content in (entries or {}).items():
            opened.writestr(name, content)
    return made.getvalue()


def published(content: bytes, url: str) -> Published:
    return Published("tiny", url, hashlib.sha256(content).hexdigest(), "for tests")


def model_at(folder: Path, files: tuple[str, ...] = FILES) -> Path:
    for name in files:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"model")
    return folder


def left_over(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())
