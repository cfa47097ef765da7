"""DOCX and ODT -> pieces: paragraphs, headings, rows of tables, in their order.

Rule of this file: only text is taken, and all of it: headers, footers, notes and
remarks follow at the end. XML is read by defusedxml, which refuses what expands;
sizes and depth are bounded before anything is made of it. Forms: ECMA-376 and OASIS
OpenDocument 1.3.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from typing import Any

from callout.writing.documents import NoDocument, Piece, of_list, unmarked

MOST_UNPACKED = 10_000_000
"""Bytes of all parts that are text; a list takes some hundred thousand."""

DEEPEST = 150
"""Levels of one part; a table in a table in a table has forty."""

_W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
_TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_BOX = f"{_W}txbxContent"
_STYLE = "{urn:oasis:names:tc:opendocument:xmlns:style:1.0}"
_BESIDE = re.compile(r"word/(header|footer|footnotes|endnotes|comments)\d*\.xml")


def read(data: bytes, kind: str, name: str) -> tuple[Piece, ...]:
    """The pieces of a document.  Raises NoDocument."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(one.file_size for one in packed.infolist() if _is_text(one)) > MOST_UNPACKED:
                raise NoDocument(f"{name} holds more than {MOST_UNPACKED // 1_000_000} MB of text")
            pieces = _docx(packed, name) if kind == ".docx" else _odt(packed, name)
            return tuple(pieces)
    except (zipfile.BadZipFile, zlib.error, KeyError, RuntimeError, OSError, EOFError, ValueError):
        expected = "a Word document" if kind == ".docx" else "an OpenDocument text"
        raise NoDocument(f"{name} is damaged or no {kind} file; expected {expected}") from None


def _part(packed: zipfile.ZipFile, part: str, name: str) -> Any:  # noqa: ANN401 - an element
    try:
        from defusedxml import ElementTree
        from defusedxml.common import DefusedXmlException
    except ImportError:
        raise NoDocument(
            "Office documents need defusedxml, which is not installed: pip install defusedxml"
        ) from None
    try:
        root = ElementTree.fromstring(packed.read(part))
    except (ElementTree.ParseError, DefusedXmlException):
        raise NoDocument(f"{name}: {part} is damaged, or holds what no list needs") from None
    if _deeper(root, DEEPEST):
        raise NoDocument(f"{name}: {part} is nested deeper than {DEEPEST} levels")
    return root


def _is_text(one: zipfile.ZipInfo) -> bool:
    return one.filename.endswith(".xml")


def _deeper(root: Any, levels: int) -> bool:  # noqa: ANN401
    """Whether anything stands deeper than so many levels; level by level, without recursion."""
    level = [root]
    for _ in range(levels):
        level = [child for one in level for child in one]
        if not level:
            return False
    return True


def _inside(element: Any, *tags: str) -> Iterator[Any]:  # noqa: ANN401
    """Elements of these tags, in their order, but none that stands in another of them."""
    todo = list(reversed(list(element)))
    while todo:
        one = todo.pop()
        if one.tag in tags:
            yield one
        else:
            todo += reversed(list(one))


def _docx(packed: zipfile.ZipFile, name: str) -> list[Piece]:
    body = _part(packed, "word/document.xml", name)
    pieces = list(_numbered(_docx_blocks(body)))
    for part in sorted(filter(_BESIDE.fullmatch, packed.namelist())):
        what = part.removeprefix("word/").removesuffix(".xml")
        beside = _numbered(_docx_blocks(_part(packed, part, name)))
        pieces += [Piece(f"{what}, {one.place}", one.cells, beside=True) for one in beside]
    return pieces


_Block = tuple[str, tuple[str, ...], int, bool]
"""What it is ("paragraph" or "row"), its cells, its heading, and whether it is an item."""


def _numbered(blocks: Iterator[_Block]) -> Iterator[Piece]:
    count = {"paragraph": 0, "row": 0}
    for what, cells, heading, marked in blocks:
        count[what] += 1
        if any(cells):
            if len(cells) == 1:
                bare, bulleted = unmarked(cells[0])
                cells, marked = (bare,), marked or bulleted
            yield Piece(f"{what} {count[what]}", cells, heading, marked)


def _docx_blocks(element: Any) -> Iterator[_Block]:  # noqa: ANN401
    for child in element:
        if child.tag == f"{_W}p":
            yield _docx_paragraph(child)
            yield from _docx_beside(child)
        elif child.tag == f"{_W}tbl":
            for row in _inside(child, f"{_W}tr"):
                cells = tuple(_docx_text(cell) for cell in _inside(row, f"{_W}tc"))
                yield "row", cells, 0, False
                yield from _docx_beside(row)
        elif child.tag not in (f"{_W}del", f"{_W}sectPr"):
            yield from _docx_blocks(child)


def _docx_beside(element: Any) -> Iterator[_Block]:  # noqa: ANN401
    """Text boxes of a paragraph or row, and tables within its cells."""
    for inner in _inside(element, _BOX, f"{_W}tbl"):
        yield from _docx_blocks(inner if inner.tag == _BOX else (inner,))


def _docx_paragraph(paragraph: Any) -> _Block:  # noqa: ANN401
    style = next((one.get(f"{_W}val", "") for one in paragraph.iter(f"{_W}pStyle")), "")
    level = re.fullmatch(r"(?:Heading|berschrift|Title)\s?(\d?)", style)
    heading = int(level[1] or 1) if level else 0
    marked = style.startswith("List") or next(paragraph.iter(f"{_W}numPr"), None) is not None
    return "paragraph", (_docx_text(paragraph),), heading, marked and not heading


def _docx_text(element: Any) -> str:  # noqa: ANN401
    """The text of a paragraph or cell; a text box or table inside comes for itself."""
    parts: list[str] = []
    todo = [element]
    while todo:
        one = todo.pop()
        if one.tag == f"{_W}t":
            parts.append(one.text or "")
        elif one.tag in (f"{_W}tab", f"{_W}ptab"):
            parts.append("\t")
        elif one.tag in (f"{_W}br", f"{_W}cr"):
            parts.append(" ")
        elif one.tag not in (_BOX, f"{_W}tbl", f"{_W}del", f"{_W}pPr", f"{_W}rPr"):
            if one.tag == f"{_W}p" and parts:
                parts.append(" ")
            todo += reversed(list(one))
    return _spaced("".join(parts))


def _spaced(text: str) -> str:
    """Single spaces, but a tab stays: it parts what is called from what is answered."""
    spaced = "\t".join(" ".join(part.split()) for part in text.split("\t")).strip()
    return of_list(spaced, f'what begins with "{spaced[:20]}"')


def _odt(packed: zipfile.ZipFile, name: str) -> list[Piece]:
    content = _part(packed, "content.xml", name)
    pieces = list(_numbered(_odt_blocks(content, marked=False)))
    if "styles.xml" in packed.namelist():
        styles = _part(packed, "styles.xml", name)
        for what in ("header", "footer"):
            for part in styles.iter(f"{_STYLE}{what}"):
                beside = _numbered(_odt_blocks(part, marked=False))
                pieces += [Piece(f"{what}, {one.place}", one.cells, beside=True) for one in beside]
    return pieces


def _odt_blocks(element: Any, *, marked: bool) -> Iterator[_Block]:  # noqa: ANN401
    for child in element:
        if child.tag == f"{_TEXT}h":
            yield "paragraph", (_odt_text(child),), _level(child), False
            yield from _odt_beside(child)
        elif child.tag == f"{_TEXT}p":
            yield "paragraph", (_odt_text(child),), 0, marked
            yield from _odt_beside(child)
        elif child.tag == f"{_TABLE}table-row":
            cells = tuple(_odt_text(cell) for cell in _inside(child, f"{_TABLE}table-cell"))
            yield "row", cells, 0, False
            yield from _odt_beside(child)
        elif child.tag not in (f"{_OFFICE}automatic-styles", f"{_TEXT}tracked-changes"):
            yield from _odt_blocks(child, marked=marked or child.tag == f"{_TEXT}list-item")


def _odt_beside(element: Any) -> Iterator[_Block]:  # noqa: ANN401
    """Notes of a paragraph or row, and tables within its cells."""
    for inner in _inside(element, f"{_TEXT}note-body", f"{_TABLE}table"):
        yield from _odt_blocks(inner, marked=False)


def _level(heading: Any) -> int:  # noqa: ANN401
    found = re.fullmatch(r"[1-9]", heading.get(f"{_TEXT}outline-level", ""))
    return int(found[0]) if found else 1


def _odt_text(element: Any) -> str:  # noqa: ANN401
    parts: list[str] = []

    def walk(one: Any) -> None:  # noqa: ANN401
        if one.tag in (f"{_TEXT}note-body", f"{_TABLE}table"):
            return
        if one.tag == f"{_TEXT}tab":
            parts.append("\t")
        elif one.tag in (f"{_TEXT}s", f"{_TEXT}line-break") or (one.tag == f"{_TEXT}p" and parts):
            parts.append(" ")
        parts.append(one.text or "")
        for child in one:
            walk(child)
            parts.append(child.tail or "")

    walk(element)
    return _spaced("".join(parts))
