"""Debrief and training record as pages and as PDF.

Rule of this file: words go in as data, never as markup, on paper and on the page.
"""

from __future__ import annotations

from typing import Any

from callout.reports.page import render
from callout.reports.paper import NoPaperError, typeset

ROOM = "callout.trainer"


def page(name: str, values: dict[str, Any]) -> str:
    """One HTML page that needs nothing else; `name` is "debrief" or "record"."""
    return render(f"{name}.html", ROOM, r=values)


def paper(name: str, values: dict[str, Any]) -> bytes:
    """The PDF's bytes.  Raises NoPaperError."""
    return typeset(f"{name}.typ", values, ROOM)


__all__ = ["NoPaperError", "page", "paper"]
