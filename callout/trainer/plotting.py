"""Pictures of practice: one drill with its calls, and a person's progress.

Rule of this file: matplotlib is imported here and only when something is drawn. Red is
for never-exceed limits, amber for cautions; calls differ by their shape, not by colour.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from callout.checklist.model import Aircraft, Gauge
from callout.engine.limits import limits_now
from callout.trainer.store import Entry

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

RED, AMBER, GREY, DARK, BLUE = "#c00000", "#ffb000", "#808080", "#202020", "#1f4e79"

SHOWN = ("exhaust-temperature", "gas-generator-speed", "rotor-speed")
"""The gauges of a drill's picture before others, where the aircraft has them."""

MOST = len(SHOWN)
"""So many gauges are drawn."""

STILL = 0.1
"""A gauge that moves by less is not drawn."""

MARKERS = {"in time": "o", "late": "D", "missed": "X", "not reached": "X"}


class NoPictureError(Exception):
    """A picture cannot be drawn here; the text is for people."""


@contextmanager
def _sheet(width: float, height: float) -> Iterator[Figure]:
    try:
        import matplotlib
        from matplotlib.figure import Figure
    except ImportError:
        raise NoPictureError(
            "Pictures need matplotlib, which is not installed: pip install 'callout[plot]'."
        ) from None
    style: dict[Any, Any] = {
        "svg.hashsalt": "callout",
        "svg.fonttype": "none",
        "font.size": 8.5,
        "axes.edgecolor": DARK,
        "font.family": "sans-serif",
    }
    with matplotlib.rc_context(style):
        yield Figure(figsize=(width, height), layout="constrained")


def _svg(figure: Figure) -> str:
    made = io.StringIO()
    figure.savefig(made, format="svg", metadata={"Date": None})
    return made.getvalue()


def drill_picture(result: Mapping[str, Any], aircraft: Aircraft, width: float = 9.0) -> str:
    """The gauges over time, with every call beside them, as SVG.  Raises NoPictureError."""
    moving = [name for name in result["gauges"] if _moves(result, name)]
    # The usual ones first; an aircraft that has them under other names shows what moves.
    names = sorted(moving, key=lambda one: SHOWN.index(one) if one in SHOWN else MOST)[:MOST]
    calls = [one for one in result["calls"] if one["at"] is not None]
    times = [at for at, _ in result["samples"]]
    strip = 0.19 * (len(calls) + len(result["false_calls"]) + 1) + 0.3
    height = strip + 1.5 * len(names) + 0.5
    with _sheet(width, height) as figure:
        axes = figure.subplots(
            len(names) + 1, 1, sharex=True, squeeze=False,
            gridspec_kw={"height_ratios": [strip, *[1.5] * len(names)]},
        )  # fmt: skip
        panels = [one for row in axes for one in row]
        _calls(panels[0], calls, result["false_calls"])
        for panel, name in zip(panels[1:], names, strict=True):
            place = list(result["gauges"]).index(name)
            values = [shown[place] for _, shown in result["samples"]]
            _curve(panel, aircraft.gauge(name), result["engine_state"], times, values)
            for call in calls:
                panel.axvline(call["at"], color=GREY, lw=0.4, ls=":")
        panels[-1].set_xlabel("seconds of the drill")
        return _svg(figure)


def _moves(result: Mapping[str, Any], name: str) -> bool:
    """Whether a gauge showed anything but one value."""
    place = list(result["gauges"]).index(name)
    values = [shown[place] for _, shown in result["samples"]]
    return max(values, default=0.0) - min(values, default=0.0) > STILL


def _calls(
    panel: Axes, calls: Sequence[Mapping[str, Any]], false_calls: Sequence[Mapping[str, Any]]
) -> None:
    """A row for each call: its window as a bar, when it came as a mark; then the false ones."""
    for row, call in enumerate(calls):
        begins, within = call["at"], call["within"]
        panel.barh(row, within, left=begins, height=0.5, color="#d8d8d8", edgecolor=GREY, lw=0.4)
        reaction = call["reaction"]
        came = begins + (within if reaction is None else reaction)
        panel.plot(came, row, MARKERS[call["outcome"]], color=DARK, ms=5,
                   mfc="white" if call["outcome"] == "late" else DARK)  # fmt: skip
        words = f"{call['wanted']} ({call['outcome']})"
        panel.annotate(words, (max(came, begins + within), row), (5, 0),
                       textcoords="offset points", va="center", fontsize=7.5)  # fmt: skip
    for row, call in enumerate(false_calls, len(calls)):
        panel.plot(call["at"], row, "v", color=DARK, ms=5, mfc="white")
        panel.annotate(f"{call['words']} ({call['kind']})", (call["at"], row), (6, 0),
                       textcoords="offset points", va="center", fontsize=7.5)  # fmt: skip
    panel.set_ylim(len(calls) + len(false_calls) - 0.3, -0.7)
    panel.set_yticks([])
    panel.set_ylabel("calls")
    for side in ("top", "right", "left"):
        panel.spines[side].set_visible(False)


def _curve(
    panel: Axes, gauge: Gauge, state: str, times: Sequence[float], values: Sequence[float]
) -> None:
    panel.plot(times, values, color=BLUE, lw=1.3)
    panel.set_ylabel(f"{gauge.call}\n{gauge.unit}")
    low, high = min(values, default=0.0), max(values, default=1.0)
    room = 0.3 * (high - low)
    near = [one for one in _lines(gauge, state) if low - room <= one[3] <= high + room]
    near = sorted(dict.fromkeys(near), key=lambda one: one[3])
    for place, (name, colour, style, figure) in enumerate(near):
        panel.axhline(figure, color=colour, lw=1.2, ls=style)
        # The upper of two lines has its words above it, the lower below: they stay apart.
        above = place > 0 or len(near) == 1
        panel.annotate(f"{name} {figure:g}", (0.005 + 0.16 * max(0, place - 1), figure),
                       (0, 2 if above else -9), xycoords=("axes fraction", "data"),
                       textcoords="offset points", fontsize=7.5)  # fmt: skip
    panel.margins(y=0.12)
    for side in ("top", "right"):
        panel.spines[side].set_visible(False)


def _lines(gauge: Gauge, state: str) -> Iterator[tuple[str, str, Any, float]]:
    for limit in limits_now(gauge, state):
        for band, name, colour, style in (
            (limit.caution, "caution", AMBER, "--"), (limit.never, "never", RED, "-"),
        ):  # fmt: skip
            for figure in (band.at_least, band.at_most):
                if figure is not None:
                    yield name, colour, style, float(figure)
        if limit.transient is not None:
            above, most = limit.transient.above, limit.transient.seconds
            yield f"at most {most:g} s above", AMBER, "--", float(above)


def progress_picture(entries: Sequence[Entry], width: float = 9.0) -> str:
    """Scores over the dates, a row for each drill, as SVG.  Raises NoPictureError."""
    titles = list(dict.fromkeys(f"{entry.title} ({entry.roles})" for entry in entries))
    with _sheet(width, 0.42 * len(titles) + 1.1) as figure:
        panel = figure.subplots()
        for entry in entries:
            row = titles.index(f"{entry.title} ({entry.roles})")
            lost = entry.critical_missed
            shape, fill = "X" if lost else "o", "white" if entry.coached and not lost else DARK
            when: Any = entry.at  # matplotlib takes dates; its types do not say so
            panel.plot(when, row, shape, color=DARK, ms=7, mfc=fill)
            panel.annotate(f"{entry.percent}", (entry.at, row), (0, 6), ha="center",
                           textcoords="offset points", fontsize=7)  # fmt: skip
        panel.set_yticks(range(len(titles)), titles)
        panel.set_ylim(len(titles) - 0.4, -0.8)
        panel.grid(axis="x", color="#e0e0e0", lw=0.5)
        _dates(panel, [entry.at for entry in entries])
        figure.supxlabel(
            "Percent. White: the words were told first. Cross: a critical call was lost.",
            fontsize=7.5,
        )
        for side in ("top", "right"):
            panel.spines[side].set_visible(False)
        return _svg(figure)


def _dates(panel: Axes, dates: Sequence[Any]) -> None:
    from datetime import timedelta

    from matplotlib.dates import AutoDateLocator, ConciseDateFormatter

    locator = AutoDateLocator(maxticks=8)  # type: ignore[no-untyped-call]
    panel.xaxis.set_major_locator(locator)
    formatter = ConciseDateFormatter(locator)  # type: ignore[no-untyped-call]
    panel.xaxis.set_major_formatter(formatter)
    if dates:
        first, last = min(dates), max(dates)
        room = max((last - first) * 0.06, timedelta(minutes=5))
        panel.set_xlim(first - room, last + room)
