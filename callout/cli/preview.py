"""`callout preview AIRCRAFT.yaml [LIST...]`: a list read aloud, with its time, or as a table.

Rule of this file: it prints and writes; sentences and tables are made in
writing/preview.py, sound in running/previewing.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors
from callout.cli.files import HTML, write

if TYPE_CHECKING:
    from collections.abc import Callable

    from callout.checklist.model import Aircraft, CheckList
    from callout.writing.preview import Sentence


@click.command()
@click.argument("aircraft", type=click.Path(path_type=Path))
@click.argument("lists", nargs=-1)
@click.option("--to", type=click.Path(path_type=Path), help="A sound file: WAV, FLAC or OGG.")
@click.option("--aloud", is_flag=True, help="On the loudspeaker.")
@click.option("--device", default="", metavar="NAME", help="Which loudspeaker, by its name.")
@click.option("--table", is_flag=True, help="On the terminal: calls, answers, notes.")
@click.option("--paper", type=click.Path(path_type=Path), help="A page to print: FILE.html.")
@click.option(
    "--answer",
    type=click.FloatRange(0.2, 60),
    default=2.0,
    show_default=True,
    help="Seconds that one answer takes.",
)
@click.option("--voice", "name", default="bundled", show_default=True, help="Which voice speaks.")
def command(
    aircraft: Path,
    lists: tuple[str, ...],
    to: Path | None,
    aloud: bool,
    device: str,
    table: bool,
    paper: Path | None,
    answer: float,
    name: str,
) -> None:
    """Read the lists of AIRCRAFT aloud as they will be, and say how long they take.

    LISTS are the ids of the lists; without any, the whole flying day. Nobody has
    to answer: each answer is a pause, and timed waits are cut short.
    """
    from callout.checklist.load import load
    from callout.running import previewing
    from callout.writing import preview

    with say_errors():
        loaded = load(aircraft)
        wanted = _wanted(loaded, lists)
        said = tuple(preview.sentences(loaded, wanted))
        if table:
            _print_table(loaded, wanted)
        with previewing.voice(name) as say:
            lengths = _lengths(said, wanted, lambda text: previewing.seconds(say(text)), answer)
            if to is not None:
                previewing.to_file(said, say, answer, to)
            if aloud:
                previewing.aloud(said, say, answer, device)
    if paper is not None:
        write(paper, preview.paper(loaded, wanted, lengths), HTML)
    for one in (*wanted, None):
        title = one.title if one else "all of it"
        click.echo(f"{title}: {lengths[one.id if one else '']}")


def _wanted(loaded: Aircraft, lists: tuple[str, ...]) -> tuple[CheckList, ...]:
    from callout.running.problems import CannotRunError
    from callout.writing.preview import chosen

    try:
        return chosen(loaded, lists)
    except KeyError as error:
        known = ", ".join(one.id for one in loaded.lists)
        raise CannotRunError(f"There is no list {error}; the file has {known}.") from None


def _lengths(
    said: tuple[Sentence, ...],
    wanted: tuple[CheckList, ...],
    seconds: Callable[[str], float],
    answer: float,
) -> dict[str, str]:
    """List -> its time in words; "" for all of them."""
    from callout.writing.preview import Length, length

    told, total = {}, Length(0.0, 0.0, 0.0)
    for one in wanted:
        mine = length((part for part in said if part.list_id == one.id), seconds, answer)
        told[one.id] = str(mine)
        total += mine
    return {**told, "": str(total)}


def _print_table(loaded: Aircraft, wanted: tuple[CheckList, ...]) -> None:
    from rich.console import Console
    from rich.table import Table

    from callout.writing.preview import CAUTIONS, rows

    console = Console()
    for one in wanted:
        table = Table(title=one.title.upper(), title_justify="left")
        for head in ("", "call", "answer", "notes"):
            table.add_column(head)
        for row in rows(loaded, one):
            if row.place:
                table.add_row("", f"- {row.place} -", "", "", end_section=False)
            table.add_row(str(row.number), row.call, row.answer, row.notes)
        console.print(table)
    for caution in (loaded.notice, *CAUTIONS):
        if caution:
            console.print(caution, markup=False)
