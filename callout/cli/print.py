"""`callout print`: an aircraft's lists on paper.

Rule of this file: it reads the aircraft file and writes a PDF; what stands on the
card comes from callout.reports.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors
from callout.cli.files import PDF, write_and_tell

if TYPE_CHECKING:
    from callout.checklist.model import Aircraft

_SIZES = ("a5", "a4-folded", "knee")


@click.command("print")
@click.argument("aircraft", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="The PDF to write.")
@click.option("--size", type=click.Choice(_SIZES), default="a5", show_default=True,
              help="a4-folded: both sides, turned on the short edge; knee: A6.")  # fmt: skip
@click.option("--list", "lists", multiple=True, metavar="LIST",
              help="Only this list, by its key; can be given again.")  # fmt: skip
def command(aircraft: Path, out: Path | None, size: str, lists: tuple[str, ...]) -> None:
    """Print AIRCRAFT's lists as a card, for the day when all electronics fail.

    Paper and voice come from the same file: the card carries the file's revision
    and the fingerprint that `callout check` prints. Without --out it is written to
    AIRCRAFT-SIZE.pdf here. Compare it with the aircraft's
    handbook before use; the handbook rules.
    """
    from callout.checklist.load import load_all
    from callout.reports.card import card
    from callout.reports.card_paper import card_pdf
    from callout.reports.paper import NoPaperError

    with say_errors():
        loaded = load_all(aircraft)
    _known(lists, loaded.aircraft)
    out = out or Path(f"{aircraft.stem}-{size}.pdf")
    try:
        made = card_pdf(card(loaded.aircraft, loaded.fingerprint[:12], lists), size)
    except NoPaperError as error:
        raise click.UsageError(str(error)) from None
    write_and_tell(out, made, PDF)


def _known(lists: tuple[str, ...], aircraft: Aircraft) -> None:
    from callout.checklist.problems import did_you_mean

    keys = [one.id for one in aircraft.lists]
    for key in lists:
        if key not in keys:
            near = did_you_mean(key, keys) or f"; it has {', '.join(keys)}"
            raise click.UsageError(f'{aircraft.name} has no list "{key}"{near}.')
