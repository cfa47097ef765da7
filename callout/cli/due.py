"""`callout due`: what has to be done again and again, how it stands, and that it was done.

Rule of this file: it reads options and prints; what is due stands in the engine and
in running/due_items.py.
"""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK
from callout.logbook.places import Place, default_logbook

if TYPE_CHECKING:
    from callout.running.due_items import Who

AIRCRAFT = click.argument("aircraft", type=click.Path(exists=True, dir_okay=False, path_type=Path))
BOOK = click.option("--logbook", type=LOGBOOK, help="The logbook, file or URL; your own if none.")
WHO = click.option("--who", required=True, help="Who did it, or writes it down.")
DAY = click.DateTime(["%Y-%m-%d"])


@click.group("due")
def command() -> None:
    """What is counted, and what has to be done: show it, or write down that it was done.

    Due items and counters are declared in the aircraft file. What is written down here
    is kept in the logbook for good, with who and how.
    """


@command.command("show")
@AIRCRAFT
@BOOK
def show(aircraft: Path, logbook: Place | None) -> None:
    """How the counters and due items of AIRCRAFT stand, overdue ones marked."""
    from callout.checklist.load import load
    from callout.logbook.store import Logbook
    from callout.running.due_items import standing

    with say_errors():
        made = load(aircraft)
        with Logbook.read(logbook or default_logbook()) as book:
            counters, dues = standing(made, book)
    for line in (*counters, *dues) or ("Nothing is counted, and nothing is due, in this file.",):
        click.echo(line)


@command.command("done")
@AIRCRAFT
@click.argument("key")
@WHO
@click.option("--how", required=True, help="How it was done: words for the record.")
@click.option("--date", "on", type=DAY, help="When, as 2027-03-31; today if not given.")
@BOOK
def done(
    aircraft: Path, key: str, who: str, how: str, on: datetime | None, logbook: Place | None
) -> None:
    """Write down that the due item KEY was done: it counts anew from here."""
    from callout.checklist.load import load_all
    from callout.logbook.store import Logbook
    from callout.running.due_items import done as write
    from callout.running.due_items import named

    with say_errors():
        by, loaded = _who(who, how, on), load_all(aircraft)
        due = named(loaded.aircraft, key)  # before a logbook is made for it
        with Logbook.open(logbook or default_logbook()) as book:
            click.echo(write(loaded, book, due, by))


@command.command("enter")
@AIRCRAFT
@click.argument("key")
@click.argument("amount")
@WHO
@click.option("--how", required=True, help="Where it is from: the engine's paper log.")
@click.option("--last-done", "on", type=DAY, help="Of a due item: the day it was last done.")
@BOOK
def enter(
    aircraft: Path,
    key: str,
    amount: str,
    who: str,
    how: str,
    on: datetime | None,
    logbook: Place | None,
) -> None:
    """Enter how a counter stands, or how much of a due item is used since it was last done.

    AMOUNT is a count such as 300, or hours such as "812 h": those of an engine that ran
    before callout counted, or a figure that has to be put right.
    """
    from callout.checklist.load import load_all
    from callout.logbook.store import Logbook
    from callout.running.due_items import enter as write
    from callout.running.due_items import entry

    with say_errors():
        by, loaded = _who(who, how, on), load_all(aircraft)
        entered = entry(loaded.aircraft, key, amount)  # before a logbook is made for it
        with Logbook.open(logbook or default_logbook()) as book:
            click.echo(write(loaded, book, entered, by))


def _who(who: str, how: str, on: datetime | None) -> Who:
    from callout.running.due_items import Who

    for text, option in ((who, "--who"), (how, "--how")):
        if not text.strip():
            raise click.UsageError(f"{option} is empty; expected words for the record.")
    day = on.date() if on is not None else None
    if day is not None and day > date.today():
        raise click.UsageError(f"{day.isoformat()} lies in the future; expected a day that was.")
    return Who(who.strip(), how.strip(), day)
