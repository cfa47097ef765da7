"""`callout import DOCUMENT`: an owner's paper list becomes an aircraft file to be looked at.

Rule of this file: it reads, writes and counts; guesses are made in writing/guessing.py.
"""

from __future__ import annotations

from pathlib import Path

import click

from callout.cli.errors import USER_ERROR
from callout.cli.files import YAML, write


@click.command("import")
@click.argument("document", type=click.Path(path_type=Path))
@click.option(
    "--to", type=click.Path(path_type=Path), help="The file to write; else it is printed."
)
@click.option("--name", default="my machine", show_default=True, help="The machine's name.")
def command(document: Path, to: Path | None, name: str) -> None:
    """Make an aircraft file of DOCUMENT: .txt, .md, .csv, .docx or .odt.

    Above each item stands what the document says; CHECK marks every guess. What
    no item could be made of stands as a comment, so that nothing is lost. Then
    `callout review` says what people would get wrong by it.
    """
    from callout.writing.documents import NoDocument, read
    from callout.writing.taking_over import take_over

    if to is not None and to.exists():
        raise click.UsageError(f"{to} is there already; give another name.")
    try:
        made = take_over(read(document), document.name, name)
    except NoDocument as error:
        click.echo(str(error), err=True)
        raise SystemExit(USER_ERROR) from None
    if to is None:
        click.echo(made.text, nl=False)
    else:
        write(to, made.text, YAML)
    told = f"{made.items} items, {made.doubted} of them marked CHECK; "
    click.echo(f"{told}{made.left} lines stand as comments alone.", err=True)
    click.echo("Hold every line against your document and your handbook.", err=True)
