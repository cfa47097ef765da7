"""`callout report`: one session as a page for the screen and as a PDF.

Rule of this file: it only reads the logbook; what stands in a report comes from
callout.reports, the picture from callout.running.
"""

from __future__ import annotations

import tempfile
import webbrowser
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors
from callout.cli.files import HTML, PDF, write_and_tell
from callout.cli.logbook_place import LOGBOOK, SESSION
from callout.logbook.places import Place, default_logbook
from callout.logbook.stamp import RECORDING

if TYPE_CHECKING:
    from callout.checklist.model import Aircraft
    from callout.engine.effects import Record
    from callout.logbook.rows import SessionRow
    from callout.logbook.store import Logbook
    from callout.logbook.whole import Whole
    from callout.reports.values import Report
    from callout.running.pictures import Curve

MOST_PLOTS = 4
"""Starts of one session that are drawn; the others stand in words."""

PHONE = 4.6
"""Inches of a picture that is read on a phone without being enlarged."""

_BEFORE, _AFTER = 5.0, 10.0
"""Seconds drawn before the starter goes on and after the start is over."""


@click.command("report")
@click.argument("session", type=SESSION)
@click.option("--logbook", type=LOGBOOK, help="The logbook, file or URL; your own if none.")
@click.option("--out", type=click.Path(path_type=Path), help="Where the HTML page is written.")
@click.option("--pdf", type=click.Path(path_type=Path), help="Where the PDF is written.")
@click.option("--aircraft", type=click.Path(path_type=Path),
              help="The aircraft file; the session's own if none.")  # fmt: skip
@click.option("--open", "show", is_flag=True, help="Show the page in the browser.")
def command(
    session: int, logbook: Place | None, out: Path | None, pdf: Path | None,
    aircraft: Path | None, show: bool,
) -> None:  # fmt: skip
    """Report on SESSION, as one HTML page that needs nothing else, and as PDF.

    Without --out or --pdf the page is written to session-SESSION.html here.
    The number of a session stands in `callout log`.
    """
    from callout.logbook.store import Logbook
    from callout.reports.page import page
    from callout.reports.paper import NoPaperError, paper

    if out is None and (pdf is None or show):
        out = Path(f"session-{session}.html")
    with say_errors():
        with Logbook.read(logbook or default_logbook()) as opened, opened.snapshot():
            made = _report(opened, session, aircraft, phone=out is not None)
        if out is not None:
            write_and_tell(out, page(made).encode("utf-8"), HTML)
        if pdf is not None:
            try:
                write_and_tell(pdf, paper(made), PDF)
            except NoPaperError as error:
                raise click.UsageError(str(error)) from None
    if show and out is not None:
        webbrowser.open(out.resolve().as_uri())


def _report(logbook: Logbook, session: int, file: Path | None, *, phone: bool) -> Report:
    from callout.logbook.whole import whole
    from callout.reports.session import report

    of = whole(logbook, session)
    aircraft, notes = _aircraft(of.row, file)
    made = report(logbook, of, aircraft, notes)
    plots, note = _plots(of, aircraft, notes, phone=phone) if aircraft is not None else ((), "")
    return replace(made, plots=plots, plot_note=note)


def _aircraft(row: SessionRow, given: Path | None) -> tuple[Aircraft | None, tuple[str, ...]]:
    """The session's aircraft, and what the reader must know of it."""
    from callout.checklist.load import load_all
    from callout.checklist.problems import FileProblems

    file = given or Path(row.file)
    try:
        loaded = load_all(file)
    except FileProblems as error:
        if given is not None:
            raise
        first = str(next(iter(error.problems), ""))
        note = (
            f"The aircraft file cannot be read any more ({first}). Items are named by their keys "
            "and values stand without limits; name the file with --aircraft FILE.yaml."
        )
        return None, (note,)
    recorded = row.began.boot_id == RECORDING  # its fingerprint is of the recording, too
    if not recorded and row.fingerprint not in ("", loaded.fingerprint):
        return loaded.aircraft, (
            f"{file} was changed since this session: names and limits are those of now.",
        )
    return loaded.aircraft, ()


def _plots(
    of: Whole, aircraft: Aircraft, notes: tuple[str, ...], *, phone: bool
) -> tuple[tuple[tuple[str, str], ...], str]:
    """Pictures of the starts as SVG; without any, one sentence that says why.

    `phone`: a narrow one beside each wide one; else the wide one stands for both.
    """
    from callout.running.drawing import WIDTH, draw
    from callout.running.pictures import chosen, looked_back
    from callout.running.problems import CannotRunError

    spans = starts(of.facts)
    if not spans:
        return (), ""
    drawn = []
    try:
        picture = looked_back(of, aircraft)
        picture.notes += notes
        with tempfile.TemporaryDirectory() as folder:
            target = Path(folder) / "start.svg"
            for span in spans[:MOST_PLOTS]:
                curves = [one for one in chosen(picture, ()) if shows(one, span)]
                both = []
                for width in ((WIDTH, PHONE) if phone else (WIDTH,)) if curves else ():
                    draw(picture, curves, target, span, width)
                    both.append(target.read_text(encoding="utf-8"))
                drawn += [(both[0], both[-1])] if both else []
    except CannotRunError as error:
        return (), str(error)
    left = len(spans) - MOST_PLOTS
    return tuple(drawn), f"{left} more starts are not drawn." if left > 0 else ""


def shows(curve: Curve, span: tuple[float, float]) -> bool:
    """Whether there is anything of it in this time."""
    times = [*curve.times, *(at for at, _ in curve.spoken)]
    return any(span[0] <= at <= span[1] for at in times)


def starts(facts: Sequence[tuple[float, Record]]) -> list[tuple[float, float]]:
    """From when to when each start is drawn (s)."""
    spans: list[tuple[float, float]] = []
    began: float | None = None
    for at, fact in facts:
        if fact.fact == "start began":
            began = at
        elif fact.fact == "start watched" and began is not None:
            spans.append((max(0.0, began - _BEFORE), at + _AFTER))
            began = None
    return spans
