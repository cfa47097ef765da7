"""Debrief and training record as pages and as PDF.

Rule of this file: words go in as data, never as markup, on paper and on the page.
Pictures are data: URIs, so that nothing in them can run or reach out.
"""

from __future__ import annotations

import base64
import json
from importlib.resources import files
from typing import Any

from callout.reports.paper import NoPaperError

ROOM = "callout.trainer"


def page(name: str, values: dict[str, Any]) -> str:
    """One HTML page that needs nothing else; `name` is "debrief" or "record"."""
    from jinja2 import DictLoader, Environment, StrictUndefined

    look = (files("callout.reports") / "look.css").read_text(encoding="utf-8")
    source = (files(ROOM) / f"{name}.html").read_text(encoding="utf-8")
    environment = Environment(
        loader=DictLoader({"look.css": look, name: source}), autoescape=True,
        undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    environment.filters["uri"] = _uri
    return environment.get_template(name).render(r=values)


def _uri(svg: str) -> str:
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()


def paper(name: str, values: dict[str, Any]) -> bytes:
    """The PDF's bytes.  Raises NoPaperError."""
    try:
        import typst
    except ImportError:
        raise NoPaperError(
            "A PDF needs typst, which is not installed: pip install 'callout[pdf]'. "
            "The HTML page can be printed from a browser instead."
        ) from None
    source = (files(ROOM) / f"{name}.typ").read_bytes()
    made = typst.compile(source, sys_inputs={"data": json.dumps(values)})
    assert isinstance(made, bytes)
    return made


__all__ = ["NoPaperError", "page", "paper"]
