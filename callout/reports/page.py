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


def render(name: str, **values: Any) -> str:  # noqa: ANN401  what the template names
    """A template of this room with these values, all of them escaped."""
    from jinja2 import DictLoader, Environment, StrictUndefined

    room = files("callout.reports")
    sources = {one: (room / one).read_text(encoding="utf-8") for one in ("look.css", name)}
    loader = DictLoader(sources)
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    return environment.get_template(name).render(**values)
