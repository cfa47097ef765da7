"""An owner's document -> its pieces: headings, lines, rows of cells, each with its place.

Rule of this file: nothing is judged and nothing is left out: every word of the
document is in a piece. Text, Markdown and CSV are read here, DOCX and ODT in
office.py.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

MOST_BYTES = 10_000_000
"""An owner's list takes a few hundred kB, its pictures included."""


LONGEST = 3000
"""Characters of one line or cell: a page of prose. What is longer is nothing of a list, and
rules that look for its parts would take long over it."""
MOST_TEXT = 300_000
"""Characters of all lines; two hundred pages."""


class NoDocument(Exception):  # noqa: N818 - the name is the sentence
    """A document that cannot be read; the text is for people."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One line, paragraph or row.

    Fields:
        place: where it stands, for people ("line 12", "row 3")
        cells: its text; more than one where the document itself parts it
        heading: 1 for the highest heading; 0 for none
        marked: it stood as an item: with a bullet, a number or a box
        beside: it is from a header, a footer or a note
    """

    place: str
    cells: tuple[str, ...]
    heading: int = 0
    marked: bool = False
    beside: bool = False

    @property
    def text(self) -> str:
        """All of it."""
        return " | ".join(self.cells)


def read(path: Path) -> tuple[Piece, ...]:
    """The pieces of a document.  Raises NoDocument."""
    pieces = _pieces(path)
    if sum(len(cell) for piece in pieces for cell in piece.cells) > MOST_TEXT:
        raise NoDocument(f"{path.name} has more text than a checklist; expected a few pages")
    return pieces


def _pieces(path: Path) -> tuple[Piece, ...]:
    kind = path.suffix.lower()
    data = _bytes(path)
    if kind in (".docx", ".odt"):
        from callout.writing import office

        return office.read(data, kind, path.name)
    text = _text(data, path.name)
    if kind in (".csv", ".tsv"):
        return tuple(_rows(text, path.name))
    if kind in (".md", ".markdown"):
        return tuple(_markdown(text))
    if kind in (".txt", ".text", ""):
        return tuple(_lines(text))
    raise NoDocument(
        f"{path.name} is of a kind that is not known; expected .txt, .md, .csv, .docx or .odt"
    )


def _bytes(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise NoDocument(f"{path} cannot be read: {error.strerror}") from None
    if len(data) > MOST_BYTES:
        raise NoDocument(f"{path.name} is larger than {MOST_BYTES // 1_000_000} MB")
    return data


def _text(data: bytes, name: str) -> str:
    """UTF-8, with or without a mark, or what an older Windows program writes."""
    for coding in ("utf-8-sig", "cp1252"):
        try:
            text = data.decode(coding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            for at, line in enumerate(text.splitlines(), start=1):
                of_list(line, f"{name}, line {at}")
            return text
    raise NoDocument(f"{name} is no text; expected UTF-8")


def of_list(text: str, place: str) -> str:
    """The text, if it is not too long to be a line of a list.  Raises NoDocument."""
    if len(text.expandtabs(8)) > LONGEST:
        raise NoDocument(f"{place} has more than {LONGEST} characters; expected a line of a list")
    return text


_RULE = re.compile(r"\W+")
_ITEM = re.compile(
    r"(?P<mark>(?:\[[ xX]?\]|[☐☑□■▢•●◦▪*+–-]|\(?\d{1,3}[.)]|\(?[a-zA-Z][.)])\s+)+(?P<text>\S.*)"
)


def unmarked(text: str) -> tuple[str, bool]:
    """A line without its bullet, number or box, and whether it had one."""
    found = _ITEM.fullmatch(text.strip())
    return (found["text"].strip(), True) if found else (text.strip(), False)


def _lines(text: str) -> Iterator[Piece]:
    lines = text.splitlines()
    for at, line in enumerate(lines, start=1):
        if line.strip() and not _RULE.fullmatch(line.strip()):
            bare, marked = unmarked(line.expandtabs(8))
            below = lines[at].strip() if at < len(lines) else ""
            underlined = len(below) > 2 and _RULE.fullmatch(below) is not None and not marked
            yield Piece(f"line {at}", (bare,), 1 if underlined else 0, marked)


_HEADING = re.compile(r"(#{1,6})\s+(.*?)\s*#*")
_EMPHASIS = re.compile(r"(\*\*|__|`)(.+?)\1")


def _markdown(text: str) -> Iterator[Piece]:
    for at, line in enumerate(text.splitlines(), start=1):
        bare = line.strip()
        if not bare or _RULE.fullmatch(bare):
            continue
        place, heading = f"line {at}", _HEADING.fullmatch(bare)
        if heading:
            yield Piece(place, (_EMPHASIS.sub(r"\2", heading[2]),), len(heading[1]))
        elif bare.startswith("|"):
            cells = bare.strip("|").split("|")
            yield Piece(place, tuple(_EMPHASIS.sub(r"\2", cell).strip() for cell in cells))
        else:
            item, marked = unmarked(bare.removeprefix(">").strip())
            yield Piece(place, (_EMPHASIS.sub(r"\2", item),), 0, marked)


def _rows(text: str, name: str) -> Iterator[Piece]:
    try:
        dialect: type[csv.Dialect] | csv.Dialect = csv.Sniffer().sniff(text[:4000], ",;\t|")
    except csv.Error:
        dialect = csv.excel
    try:
        # newline="" as the reader wants it: a line end may stand in a cell.
        for at, row in enumerate(csv.reader(io.StringIO(text, newline=""), dialect), start=1):
            cells = tuple(" ".join(cell.split()) for cell in row)
            if any(cells):
                yield Piece(f"row {at}", cells)
    except csv.Error as error:
        raise NoDocument(f"{name} is no table that can be read: {error}") from None
