"""A whole run as one page, for a terminal and as HTML that needs nothing else.

Rule of this file: it shows; nothing is counted here. HTML goes through Jinja's automatic
escaping, in the look of the reports.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from callout.benches.all_benches import Measured, Page, Row
from callout.reports.page import render

if TYPE_CHECKING:
    from rich.console import Console

WHAT, OURS, CLAIM = "what", "callout", "the README says"
"""Heads of columns; between the second and the third stands each other ear's name."""

CARE = (
    "Measured on recordings and on an invented engine: no figure says how it does in a real "
    "machine, and none says that it is safe to start or fly. The handbook rules."
)


def html(page: Page) -> str:
    """The page."""
    return render(
        "bench.html", "callout.benches", page=page, care=CARE, minutes=minutes, columns=columns
    )


def show(page: Page, console: Console) -> None:
    """The same on a terminal."""
    from rich.table import Table

    console.print(f"callout bench all, {page.at}{', a quick run' if page.quick else ''}")
    for name, text in page.machine:
        console.print(f"  {name}: {text}")
    console.print(CARE)
    for part in page.parts:
        console.print(f"\n{part.title}, {minutes(part)}")
        console.print(f"  {part.command}", markup=False, soft_wrap=True)
        if part.trouble:
            console.print(f"  no figure: {part.trouble}", markup=False)
            continue
        table = Table(*columns(part))
        for cells in zip(*columns(part).values(), strict=True):
            table.add_row(*cells)
        console.print(table)


def columns(part: Measured) -> dict[str, list[str]]:
    """Columns of a part by their heads, a cell a row; those in which nothing stands are left out.

    The first two are there always.
    """
    rows = [_cells(row) for row in part.rows]
    heads = dict.fromkeys(head for row in rows for head, cell in row.items() if cell)
    heads = {WHAT: None, OURS: None} | heads
    heads |= {CLAIM: heads.pop(CLAIM)} if CLAIM in heads else {}  # after all ears
    return {head: [row.get(head, "") for row in rows] for head in heads}


def _cells(row: Row) -> dict[str, str]:
    return {WHAT: row.what, OURS: row.got, **dict(row.beside), CLAIM: row.claim}


def minutes(part: Measured) -> str:
    """How long it took, for people."""
    if part.took < 100:
        return f"{part.took:.0f} s"
    return f"{part.took / 60:.1f} min"
