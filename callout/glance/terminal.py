"""The view on a terminal, for those who stay on the bench.

Rule of this file: a Glance and the last lines in, something for rich to print out.
Every state is a word or a sign as well as a colour; red is a warning, amber a
caution, and nothing else is coloured.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Group, RenderableType
from rich.progress_bar import ProgressBar
from rich.rule import Rule
from rich.table import Table
from rich.text import Text

from callout.glance.view import Glance, Timing
from callout.glance.view_gauges import GaugeView

WARNING = "bold white on #b00000"
"""7.4 to 1 by the formula of WCAG 2.2, more than the 7 to 1 of its level AAA."""

CAUTION = "bold black on #ffb000"
"""11.5 to 1 by the same formula."""

_BAR = 24
"""Columns of a bar."""


def drawn(view: Glance, lines: Sequence[str], typed: str = "") -> RenderableType:
    """One screen: what is asked, what stands, what runs, what was said; `typed` so far."""
    parts: list[RenderableType] = [_head(view)]
    parts += [_alert(one.text, grave=one.grave, answered=one.answered) for one in view.alerts]
    if view.lost:
        parts.append(Text(f"Not working: {', '.join(view.lost)}", style="bold"))
    parts += _item(view)
    parts += [_timing(one) for one in view.timing]
    if view.gauges:
        parts.append(_gauges(view.gauges))
    parts += _about(view)
    parts.append(Rule(style="dim"))
    parts += [Text(line, style="dim", no_wrap=True, overflow="ellipsis") for line in lines]
    parts.append(Text(f"> {typed}", style="bold"))
    return Group(*parts)


def _head(view: Glance) -> RenderableType:
    row = Table.grid(expand=True)
    row.add_column()
    row.add_column(justify="right")
    left = f"{view.aircraft}, revision {view.revision}"
    row.add_row(Text(left, style="dim"), Text("ended" if view.ended else view.mode, style="dim"))
    if view.title:
        row.add_row(Text(view.title, style="bold"), Text(view.place))
    return row


def _alert(text: str, *, grave: bool, answered: bool) -> Text:
    words = ("Warning" if grave else "Caution") + (", answered" if answered else "")
    return Text(f" {words}: {text} ", style=WARNING if grave else CAUTION)


def _item(view: Glance) -> Iterable[RenderableType]:
    yield Text("")
    if not view.item:
        if view.prompt:
            yield Text(f"  {view.prompt}", style="bold")
        yield Text("")
        return
    marks = [word for word, on in (("killer", view.killer), ("helper", view.who == "helper")) if on]
    yield Text(f"  {view.item}", style="bold underline").append(
        f"   [{', '.join(marks)}]" if marks else "", style="not underline"
    )
    yield Text(f"    {view.answer}")
    yield Text("")


def _timing(timing: Timing) -> RenderableType:
    row = Table.grid(padding=(0, 1))
    of = timing.of or 1.0
    bar = ProgressBar(
        total=of, completed=of - timing.left, width=_BAR, complete_style="bold", style="dim"
    )
    row.add_row(Text(f"  {timing.left:5.0f} s", style="bold"), bar, Text(timing.name))
    return row


def _gauges(gauges: Sequence[GaugeView]) -> RenderableType:
    rows = Table.grid(padding=(0, 1))
    rows.add_column(justify="left")
    rows.add_column(justify="right")
    for one in gauges:
        unit = "" if one.unit == "1" else f" {one.unit}"
        value = f"{one.text}{unit}" if one.text else "no value"
        style = {"warning": WARNING, "caution": CAUTION}.get(one.level, "bold")
        told = one.level if one.trusted else "sensor not trusted"
        rows.add_row(Text(f"  {one.name}"), Text(value, style=style), _scale(one), Text(told))
    return rows


def _scale(one: GaugeView) -> Text:
    """The range as a row of signs: c and n where limits are, = what is asked for, | the value."""
    signs = ["-"] * _BAR

    def put(at: float, sign: str) -> None:
        signs[min(_BAR - 1, max(0, round(at * (_BAR - 1))))] = sign

    if one.wanted is not None:
        first, last = (round(place * (_BAR - 1)) for place in one.wanted)
        for sign in range(max(0, first), min(_BAR - 1, last) + 1):
            signs[sign] = "="
    for at, _ in one.cautions:
        put(at, "c")
    for at, _ in one.nevers:
        put(at, "n")
    if one.at is not None:
        put(one.at, "|")
    return Text("".join(signs), style="dim")


def _about(view: Glance) -> Iterable[RenderableType]:
    for name, text in (
        ("next", ", then ".join(view.ahead)),
        ("open", ", ".join(view.open_ones)),
        ("not done", str(view.left) if view.title else ""),
        ("heard", view.heard if view.understood or not view.heard else f"{view.heard}? not taken"),
        ("said", view.said),
    ):
        if text:
            yield Text(f"  {name:<8} ", style="dim").append(text, style="not dim")
