"""A report as one HTML page that needs nothing else.

Rule of this file: every word goes through Jinja's automatic escaping; the only
markup is the template's. Pictures are data: URIs (RFC 2397), so that nothing in
them can run or reach out.
"""

from __future__ import annotations

import base64
from importlib.resources import files
from typing import Any

from callout.reports.session import GRAVE_WORDS
from callout.reports.values import Report


def page(report: Report) -> str:
    """The page."""
    pictures = [[base64.b64encode(svg.encode()).decode() for svg in two] for two in report.plots]
    return render("report.html", r=report, pictures=pictures, grave=GRAVE_WORDS)


def render(name: str, room: str = "callout.reports", **values: Any) -> str:  # noqa: ANN401
    """A template of a room with the values that it names, all of them escaped.

    It may include look.css, and make a picture (SVG) an address by the filter `uri`.
    """
    from jinja2 import DictLoader, Environment, StrictUndefined

    places = {"look.css": "callout.reports", name: room}
    sources = {one: (files(at) / one).read_text(encoding="utf-8") for one, at in places.items()}
    environment = Environment(
        loader=DictLoader(sources), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    environment.filters["uri"] = _uri
    return environment.get_template(name).render(**values)


def _uri(svg: str) -> str:
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()
