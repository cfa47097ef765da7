"""A report as PDF, by Typst.

Rule of this file: typst is imported here and only when paper is wanted. The words
go in as data (JSON), never as markup, so that nothing in them is obeyed; nothing
is fetched.
"""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from importlib.resources import files
from typing import Any

from callout.reports.session import GRAVE_WORDS
from callout.reports.values import Report


class NoPaperError(Exception):
    """A PDF cannot be made here; the text is for people."""


def paper(report: Report) -> bytes:
    """The PDF's bytes."""
    silent = [asdict(replace(one, clip="")) for one in report.squawks]
    return typeset("report.typ", asdict(report) | {"grave": GRAVE_WORDS, "squawks": silent})


def typeset(name: str, values: dict[str, Any], room: str = "callout.reports") -> bytes:
    """A template of a room with these values, as PDF.  Raises NoPaperError."""
    try:
        import typst
    except ImportError:
        raise NoPaperError(
            "A PDF needs typst, which is not installed: pip install 'callout[pdf]'. "
            "The HTML page can be printed from a browser instead."
        ) from None
    source = (files(room) / name).read_bytes()
    made = typst.compile(source, sys_inputs={"data": json.dumps(values)})
    assert isinstance(made, bytes)
    return made
