"""A picture as SVG or PNG, by matplotlib.

Rule of this file: matplotlib is loaded (drawing_sheet.py) only when something is drawn. Red is
for never-exceed limits and amber for cautions, and both differ in hatching and in words,
so that a print without colours says the same.
"""

from __future__ import annotations

import itertools
import statistics
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from callout.checklist.model import Gauge, Limit
from callout.engine.limits import limits_now
from callout.running.drawing_sheet import library, sheet
from callout.running.pictures import CAUTION, NOTE, WARNING, Curve, Mark, Picture, Span
from callout.running.problems import CannotRunError

if TYPE_CHECKING:
    from matplotlib.axes import Axes

RED, AMBER, GREY, DARK = "#c00000", "#ffb000", "#808080", "#202020"
FORMATS = (".svg", ".png")

WIDTH = 11.0
"""Inches of a sheet."""

POINTS = 1600
"""Most points of a curve: more than a print can show; the peaks are kept."""

ROWS = 8
"""Most rows of words in the strip of events."""

_RANK = {WARNING: 0, CAUTION: 1, NOTE: 2}

LETTERS = 14.5
"""Letters that stand side by side over an inch."""


def draw(
    picture: Picture, curves: Sequence[Curve], file: Path, span: tuple[float, float],
    width: float = WIDTH,
) -> None:  # fmt: skip
    """Draw the curves over this time (s) into a file that ends in .svg or .png.

    `width` of the sheet is in inches; letters stay as large on a narrow one.

    Raises CannotRunError.
    """
    if file.suffix.lower() not in FORMATS:
        raise CannotRunError(f"{file} is neither an SVG nor a PNG: give a name that ends so.")
    matplotlib = library()
    style: dict[Any, Any] = {
        "svg.hashsalt": "callout",
        "svg.fonttype": "none",
        "font.size": 8.5,
        "hatch.linewidth": 0.6,
        "axes.edgecolor": DARK,
        "font.family": "sans-serif",
    }
    with matplotlib.rc_context(style):
        marks = [mark for mark in picture.marks if _in(span, mark.at)]
        per_letter = (span[1] - span[0]) / (LETTERS * width)
        placed = _placed(marks, span, per_letter)
        rows = 1 + max((row for _, row in placed), default=0)
        figure, (top, *panels) = sheet(picture, width, rows, len(curves))
        top.set_xlim(span)
        _events(top, placed, len(marks) - len(placed), span, per_letter)
        for panel, curve in zip(panels, curves, strict=True):
            _panel(panel, curve, picture, marks, span)
        panels[-1].set_xlabel("seconds")
        metadata: dict[str, Any] = {"Date": None} if file.suffix.lower() == ".svg" else {}
        try:
            figure.savefig(file, dpi=150, metadata=metadata)
        except OSError as error:
            raise CannotRunError(f"{file} cannot be written: {error.strerror}.") from None


def _placed(
    marks: Sequence[Mark], span: tuple[float, float], per_letter: float
) -> list[tuple[Mark, int]]:
    """Each event with a row in which its words cover no others; the gravest first."""
    taken: list[list[tuple[float, float]]] = [[] for _ in range(ROWS)]
    placed: list[tuple[Mark, int]] = []
    for mark in sorted(marks, key=lambda one: (_RANK[one.grave], one.at)):
        width = per_letter * (len(_labelled(mark)) + 3)
        began = mark.at - width if mark.at + width > span[1] else mark.at
        for row, others in enumerate(taken):
            if all(began + width <= a or b <= began for a, b in others):
                others.append((began, began + width))
                placed.append((mark, row))
                break
    return placed


def _events(
    strip: Axes, placed: Sequence[tuple[Mark, int]], left_out: int, span: tuple[float, float],
    per_letter: float,
) -> None:  # fmt: skip
    """Words in rows, each beside its moment."""
    rows = 1 + max((row for _, row in placed), default=0)
    strip.set_ylim(0, rows)
    strip.set_yticks([])
    strip.tick_params(bottom=False, labelbottom=False)
    for side in ("top", "right", "left", "bottom"):
        strip.spines[side].set_visible(False)
    heights = [rows - row - 0.5 for _, row in placed]
    strip.vlines([mark.at for mark, _ in placed], 0, heights, color=GREY, lw=0.5, ls=":")
    for mark, row in placed:
        text, y = _labelled(mark), rows - row - 0.5
        late = mark.at + per_letter * (len(text) + 3) > span[1]
        strip.text(
            mark.at + (-per_letter if late else per_letter) / 2, y, text, va="center",
            ha="right" if late else "left", fontsize=7.5, color=DARK,
            fontweight="bold" if mark.grave == WARNING else "normal",
        )  # fmt: skip
    if left_out:
        strip.set_title(f"{left_out} more are in the logbook", loc="right", fontsize=7)


def _labelled(mark: Mark) -> str:
    sign = {WARNING: "\u25b2 ", CAUTION: "\u25c7 ", NOTE: ""}[mark.grave]
    return sign + (mark.text if len(mark.text) <= 46 else mark.text[:45] + "\u2026")


def _panel(
    panel: Axes, curve: Curve, picture: Picture, marks: Sequence[Mark], span: tuple[float, float]
) -> None:
    gauge = curve.gauge
    times, values = _thinned(*_broken(curve, span))
    panel.plot(times, values, color=DARK, lw=1.1, zorder=4)
    if curve.spoken:
        panel.plot(*zip(*curve.spoken, strict=True), "o", mfc="white", mec=DARK, ms=5, zorder=5)
    low, high = _extent(curve, values, picture.spans)
    panel.set_ylim(low, high)
    labels: dict[str, tuple[float, float]] = {}
    for one in picture.spans:
        _limits(panel, gauge, one, span, (low, high), labels)
    for words, (at, edge) in labels.items():
        _label(panel, words, at, edge)
    _states(panel, picture.spans, span)
    moments = [mark.at for mark in marks]
    panel.vlines(moments, low, high, color=GREY, lw=0.5, ls=":", zorder=1)
    for mark in marks:
        if mark.grave and mark.gauge == gauge.id and mark.value is not None:
            shape = "^" if mark.grave == WARNING else "D"
            colour = RED if mark.grave == WARNING else AMBER
            panel.plot([mark.at], [mark.value], shape, mfc=colour, mec=DARK, ms=7, zorder=6)
    unit = gauge.unit.replace("degC", "\u00b0C").replace("degF", "\u00b0F")
    panel.set_ylabel(f"{gauge.call}\n{unit}" if unit != "1" else gauge.call)
    panel.grid(visible=True, color="#d8d8d8", lw=0.5, zorder=0)
    panel.margins(x=0)


def _broken(curve: Curve, span: tuple[float, float]) -> tuple[list[float], list[float]]:
    """The samples of this time, with a hole where none came."""
    pairs = [(t, v) for t, v in zip(curve.times, curve.values, strict=True) if _in(span, t)]
    steps = [later[0] - one[0] for one, later in itertools.pairwise(pairs)]
    hole = max(1.0, 5.0 * statistics.median(steps)) if steps else 1.0
    times, values = [], []
    for at, (time, value) in enumerate(pairs):
        if at and time - pairs[at - 1][0] > hole:
            times.append(time)
            values.append(float("nan"))
        times.append(time)
        values.append(value)
    return times, values


def _in(span: tuple[float, float], at: float) -> bool:
    return span[0] <= at <= span[1]


def _thinned(times: list[float], values: list[float]) -> tuple[list[float], list[float]]:
    """No more points than can be seen; of each stretch the lowest and the highest."""
    every = len(times) * 2 // POINTS
    if every < 2:
        return times, values
    kept: list[int] = []
    for began in range(0, len(times), every):
        stretch = range(began, min(began + every, len(times)))
        ends = (min(stretch, key=values.__getitem__), max(stretch, key=values.__getitem__))
        holes = (at for at in stretch if values[at] != values[at])
        kept += sorted({*ends, *holes})
    return [times[at] for at in kept], [values[at] for at in kept]


def _extent(curve: Curve, values: Sequence[float], spans: Sequence[Span]) -> tuple[float, float]:
    """Lowest and highest of the panel: all values, limits that are passed or near."""
    seen = [v for v in values if v == v] + [value for _, value in curve.spoken]
    low, high = min(seen, default=0.0), max(seen, default=1.0)
    room = 0.25 * (high - low) or 1.0
    near = [
        figure
        for figure, upper in _figures(curve.gauge, spans)
        if (figure <= high + 2 * room if upper else figure >= low - 2 * room)
    ]
    low, high = min([low, *near]), max([high, *near])
    return low - 0.1 * (high - low or 1.0), high + 0.12 * (high - low or 1.0)


def _figures(gauge: Gauge, spans: Sequence[Span]) -> Iterator[tuple[float, bool]]:
    """Every figure of the limits that hold, and whether it is an upper one."""
    for state in {span.state for span in spans}:
        for limit in limits_now(gauge, state):
            for band in (limit.caution, limit.never):
                if band.at_most is not None:
                    yield float(band.at_most), True
                if band.at_least is not None:
                    yield float(band.at_least), False
            if limit.transient is not None:
                yield float(limit.transient.above), True


def _limits(
    panel: Axes, gauge: Gauge, one: Span, span: tuple[float, float],
    extent: tuple[float, float], labels: dict[str, tuple[float, float]],
) -> None:  # fmt: skip
    began, ended = max(one.began, span[0]), min(one.ended, span[1])
    if ended <= began:
        return
    for limit in limits_now(gauge, one.state):
        for low, high, colour, hatch, words in _bands(limit, extent):
            if high <= low:
                continue
            panel.fill_between(
                [began, ended], low, high, facecolor=colour, alpha=0.22, lw=0, zorder=2
            )
            panel.fill_between(
                [began, ended], low, high, facecolor="none", edgecolor=colour, hatch=hatch,
                lw=0, zorder=2,
            )  # fmt: skip
            edge = low if "above" in words else high
            style = "-" if words.startswith("never") else "--"
            panel.plot([began, ended], [edge, edge], style, color=colour, lw=1.3, zorder=3)
            if ended - began > 0.12 * (span[1] - span[0]):
                labels[words] = (ended, edge)


def _label(panel: Axes, words: str, at: float, edge: float) -> None:
    """Beside the line, on the far side for a never-exceed limit: a caution is often near it."""
    outward = words.startswith("never") == ("above" in words)
    panel.annotate(
        f"{words} ", (at, edge), (0, 3 if outward else -3), textcoords="offset points",
        ha="right", va="bottom" if outward else "top", fontsize=7, color=DARK, zorder=3.5,
        bbox={"boxstyle": "square,pad=0.1", "fc": "white", "ec": "none", "alpha": 0.75},
    )  # fmt: skip


def _bands(
    limit: Limit, extent: tuple[float, float]
) -> Iterator[tuple[float, float, str, str, str]]:
    """(from, to, colour, hatch, words) of each shaded band, the graver ones not under others."""
    bottom, top = extent
    never, caution, transient = limit.never, limit.caution, limit.transient
    ceiling = top if never.at_most is None else min(top, float(never.at_most))
    floor = bottom if never.at_least is None else max(bottom, float(never.at_least))
    if never.at_most is not None:
        yield float(never.at_most), top, RED, "////", f"never above {never.at_most}"
    if never.at_least is not None:
        yield bottom, float(never.at_least), RED, "////", f"never below {never.at_least}"
    if transient is not None:
        most = min(ceiling, float(transient.never_above or top))
        words = f"above {transient.above} for at most {transient.seconds:g} s"
        yield float(transient.above), most, GREY, "||", words
    if caution.at_most is not None:
        yield float(caution.at_most), ceiling, AMBER, "\\\\", f"caution above {caution.at_most}"
    if caution.at_least is not None:
        yield floor, float(caution.at_least), AMBER, "\\\\", f"caution below {caution.at_least}"


def _states(panel: Axes, spans: Sequence[Span], span: tuple[float, float]) -> None:
    """Which state's limits hold, in small letters at the foot."""
    for one in spans:
        began, ended = max(one.began, span[0]), min(one.ended, span[1])
        if one.state != "any" and ended - began > 0.04 * (span[1] - span[0]):
            panel.text(
                began, 0.02, f" {one.state}", transform=panel.get_xaxis_transform(), fontsize=7,
                style="italic", color=GREY, zorder=7,
            )  # fmt: skip
