"""The printed card as PDF: A5, knee size, or A5 pages on A4 sheets to fold.

Rule of this file: typst, the typeface and pypdf are imported here and only when
paper is wanted. A folded card is the A5 card, its pages put two on a sheet in
the order of a booklet; nothing is set anew.
"""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from dataclasses import asdict
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from callout.reports.paper import NoPaperError

if TYPE_CHECKING:
    from callout.reports.card import Card

SIZES = {"a5": (148, 210), "a4-folded": (148, 210), "knee": (105, 148)}
"""Width and height of one page in mm: A5 and A6 of ISO 216 (from memory)."""

_A4 = (841.89, 595.28)
"""Width and height of an A4 sheet on its side, points (210 x 297 mm of ISO 216)."""


def card_pdf(card: Card, size: str) -> bytes:
    """The card's PDF; `size` is one of SIZES. Raises NoPaperError."""
    (made,) = typeset(card, size, "pdf")
    return folded(made) if size == "a4-folded" else made


def typeset(
    card: Card, size: str, form: Literal["pdf", "png"], dots_per_inch: float | None = None
) -> list[bytes]:
    """One PDF, or a picture of each page; else as `card_pdf`."""
    try:
        import font_source_sans_pro
        import typst
    except ImportError:
        raise NoPaperError(
            "A printed card needs typst and its typeface, which are not installed: "
            "pip install 'callout[pdf]'. `callout check` prints the lists as text."
        ) from None
    width, height = SIZES[size]
    values = asdict(card) | {"size": size, "width": width, "height": height}
    faces = Path(font_source_sans_pro.__file__).parent / "files"
    made: object = typst.compile(
        (files("callout.reports") / "card.typ").read_bytes(),
        font_paths=typst.Fonts(include_system_fonts=False, font_paths=[faces]),
        sys_inputs={"data": json.dumps(values)},
        format=form,
        ppi=dots_per_inch,
    )
    if isinstance(made, list):
        return made
    assert isinstance(made, bytes)
    return [made]


def booklet(pages: int) -> Iterator[tuple[int | None, int | None]]:
    """Left and right page of each side, first sheet's outside first; None is blank.

    Printed on both sides (turned on the short edge) and folded as one bundle, the
    pages follow one another: the outermost sheet carries last and first, then
    second and last but one.
    """
    whole = pages + -pages % 4

    def page(number: int) -> int | None:
        return number if number < pages else None

    for side in range(whole // 2):
        early, late = page(side), page(whole - 1 - side)
        yield (late, early) if side % 2 == 0 else (early, late)


def folded(pdf: bytes) -> bytes:
    """The pages of a PDF in A5, two on each side of A4 sheets, as a booklet."""
    try:
        from pypdf import PageObject, PdfReader, PdfWriter, Transformation
    except ImportError:
        raise NoPaperError(
            "A folded card needs pypdf, which is not installed: pip install 'callout[pdf]'."
        ) from None
    read, made = PdfReader(io.BytesIO(pdf)), PdfWriter()
    for sides in booklet(len(read.pages)):
        sheet = PageObject.create_blank_page(width=_A4[0], height=_A4[1])
        for number, shift in zip(sides, (0.0, _A4[0] / 2), strict=True):
            if number is not None:
                sheet.merge_transformed_page(
                    read.pages[number], Transformation().translate(shift, 0)
                )
        made.add_page(sheet)
    if read.metadata is not None and read.metadata.title:
        made.add_metadata({"/Title": read.metadata.title})
    out = io.BytesIO()
    made.write(out)
    return out.getvalue()
