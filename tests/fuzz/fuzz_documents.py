"""Target: an owner's document of any bytes becomes an aircraft file that can be loaded.

Rule of this file: `one` takes bytes and raises only for what is wrong in callout. The
first byte chooses the kind. An office file is either the bytes as they are or a good
archive with the bytes as its document, since chance makes no zip archive.
"""

from __future__ import annotations

import tempfile
import zipfile
from pathlib import Path

from callout.checklist.load import load
from callout.writing.documents import NoDocument, read
from callout.writing.taking_over import take_over

MOST = 12_000
FOLDER = Path(tempfile.mkdtemp(prefix="callout-"))
KINDS = (".txt", ".md", ".csv", ".docx", ".odt")
PARTS = {".docx": "word/document.xml", ".odt": "content.xml"}


def one(data: bytes) -> None:
    """Read it, take it over, and load what was made of it."""
    choice, body = (data[0] if data else 0), data[1:]
    kind = KINDS[choice % len(KINDS)]
    paper = FOLDER / f"list{kind}"
    if kind in PARTS and choice < 128:
        with zipfile.ZipFile(paper, "w") as packed:
            packed.writestr(PARTS[kind], body)
    else:
        paper.write_bytes(body)
    try:
        pieces = read(paper)
    except NoDocument as why:
        assert str(why)
        return
    made = FOLDER / "made.yaml"
    made.write_text(take_over(pieces, paper.name).text, encoding="utf-8")
    load(made)
