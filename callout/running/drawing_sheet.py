"""The sheet of a picture: where its title, strip, panels and small words stand.

Rule of this file: matplotlib is imported here and nowhere else, when something is drawn.
Every place is known in inches: matplotlib could work them out by measuring all words,
which took half of the time of a picture.
"""

from __future__ import annotations

import textwrap
from types import ModuleType
from typing import TYPE_CHECKING

from callout.running.pictures import Picture
from callout.running.problems import CannotRunError

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ROW, PANEL = 0.19, 2.4
"""Inches: of a row of events, of one gauge."""

LEFT, RIGHT, GAP = 0.9, 0.12, 0.14
"""Inches beside the panels, and between two."""

LINE, SMALL, AXIS = 0.19, 0.125, 0.45
"""Inches: a line of the title, a line of the small words below, numbers and name of the time."""

TITLE_LETTERS, SMALL_LETTERS = 10.0, 17.5
"""Letters over an inch of the title and of the small words."""


def library() -> ModuleType:
    """The library; CannotRunError says what to install.

    As it loads it writes a manual page into each of its classes, a third of the time that
    loading takes; a report has no reader for them.
    """
    try:
        import matplotlib
        from matplotlib import artist

        manual, artist.kwdoc = artist.kwdoc, lambda _: ""  # type: ignore[assignment]
        try:
            import matplotlib.figure
        finally:
            artist.kwdoc = manual
    except ImportError:
        raise CannotRunError(
            "Pictures need matplotlib, which is not installed: pip install 'callout[plot]'."
        ) from None
    return matplotlib


def sheet(picture: Picture, width: float, rows: int, panels: int) -> tuple[Figure, list[Axes]]:
    """A sheet `width` inches wide: a strip for rows of events, and the panels below it."""
    from matplotlib.figure import Figure

    title = textwrap.wrap(picture.title, int(TITLE_LETTERS * width))
    said = [*picture.notes, "Drawn from what came in. The aircraft's own handbook rules."]
    below = textwrap.wrap(" ".join(said), int(SMALL_LETTERS * width))
    above, under = 0.1 + LINE * len(title), 0.08 + SMALL * len(below) + AXIS
    strip = ROW * rows + 0.15
    height = above + strip + (GAP + PANEL) * panels + under
    figure = Figure(figsize=(width, height))
    top = figure.add_axes((LEFT / width, 1 - (above + strip) / height,
                           1 - (LEFT + RIGHT) / width, strip / height))  # fmt: skip
    axes = [top]
    for number in range(panels):
        low = under + (panels - 1 - number) * (GAP + PANEL)
        place = (LEFT / width, low / height, 1 - (LEFT + RIGHT) / width, PANEL / height)
        axes.append(figure.add_axes(place, sharex=top))
        axes[-1].tick_params(labelbottom=number == panels - 1)
        axes[-1].yaxis.set_label_coords(-(LEFT - 0.06) / (width - LEFT - RIGHT), 0.5)
        axes[-1].yaxis.label.set_verticalalignment("top")  # from the sheet's edge inwards
    axes[-1].xaxis.set_label_coords(0.5, -0.28 / PANEL)
    left = 0.05 / width
    figure.text(left, 1 - 0.05 / height, "\n".join(title), va="top", fontsize=11,
                fontweight="bold")  # fmt: skip
    figure.text(left, 0.05 / height, "\n".join(below), va="bottom", fontsize=7.5)
    return figure, axes
