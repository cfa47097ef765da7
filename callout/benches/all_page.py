"""A whole run as one page, for a terminal and as HTML that needs nothing else.

Rule of this file: it shows; nothing is counted here. HTML goes through Jinja's automatic
escaping, in the look of the reports.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from callout.benches.all_benches import Measured, Page
from callout.reports.page import render

if TYPE_CHECKING:
    from rich.console import Console

CARE = (
    "Measured on recordings and on an invented engine: no figure says how it does in a real "
    "machine, and none says that it is safe to start or fly. The handbook rules."
)


def html(page: Page) -> str:
    """The page."""
    return render("bench.html", "callout.benches", page=page, care=CARE, minutes=minutes)


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
        table = Table("what", "callout", *page.ears, "the README says")
        for row in part.rows:
            beside = dict(row.beside)
            table.add_row(row.what, row.got, *(beside.get(e, "") for e in page.ears), row.claim)
        console.print(table)


def minutes(part: Measured) -> str:
    """How long it took, for people."""
    if part.took < 100:
        return f"{part.took:.0f} s"
    return f"{part.took / 60:.1f} min"
